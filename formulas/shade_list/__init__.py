"""A list of shades, pasted or out of a file: headings, words and numbers, CxF3, whole rows."""
