"""From routes to what a mechanic reads: ordered steps, parts, side effects, verdict, and the text of it all."""
