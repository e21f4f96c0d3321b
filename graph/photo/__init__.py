"""A face from a photo: the printed sheet, the lens, round holes with their uncertainty; and faces solved by hand."""
