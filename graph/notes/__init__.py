"""What a person writes down, from what was typed at any door: relations of parts, readings, prices."""
