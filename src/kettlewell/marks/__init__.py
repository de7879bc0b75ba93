"""The program's own pictures as SVG: the life line and the fryer's chart."""
