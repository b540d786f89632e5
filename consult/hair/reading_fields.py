"""What a reading of one zone consists of, and what of it needs eyes on the hair."""

LOOKED_AT = ("natural_level", "lifted_level", "undertone", "white_percent", "porosity")
READING_FIELDS = (
    "is_toned",
    "natural_level",
    "lifted_level",
    "undertone",
    "white_percent",
    "porosity",
    "banding",
    "note",
)
