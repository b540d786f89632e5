"""The few free numbers of the toner model, fitted to what the trade knows.

`python -m formulas.engine calibrate` prints every fact beside what these numbers give, and
with `--fit` where a search from here would move them. All of them are model assumptions: no
published deposit of a toner on lightened hair was found.
"""

# How much of a plain shade's pigment is tone: of all that tone alone would need to reach the
# level, a plain tone lays in this share, and the neutral background does the rest.
TONE_SHARE = 0.9

# How strongly a tone is laid in; plain has no word of its own. A strong one is all tone.
STRENGTHS: dict[str, float] = {"slight": 0.15, "soft": 0.6, "plain": 1.0, "strong": 1.12}

# Yellow, orange and red hardly darken, so alone they would need absurd amounts to reach a
# level: a tone is never more than this many times the mean K/S of the level's neutral.
MOST_TONE = 1.0

# What hair takes of a line's nominal deposit, which is that on white hair: `LITTLE` where it
# was not lifted at all, `MUCH` in the end, half of the way at `HALF_WAY` levels of lift.
# An alkaline line swells the fibre, so it takes more on hair that was hardly lifted; acid dye
# goes by the damage.
UPTAKE_LITTLE: dict[str, float] = {"acidic": 0.15, "alkaline": 0.2}
UPTAKE_MUCH: dict[str, float] = {"acidic": 1.5, "alkaline": 1.45}
UPTAKE_HALF_WAY_LEVELS = 4.0

# The bend of uptake over time: it begins as the square root of time (Tate et al. 1993) and
# levels off the sooner the larger this is.
SATURATION = 1.5

# The natural level that is assumed where nobody read it: a middle brown.
USUAL_NATURAL_LEVEL = 4.0

# Toner that is still there takes up room: a full load of the hair's own depth leaves so much
# less for the next one. Repeated toning then ends near 1.3 loads.
ROOM_TAKEN = 0.75
