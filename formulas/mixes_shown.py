"""What a suggestion is: the limit, the mixes along it, and a short list for one place."""

from dataclasses import dataclass, field

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas import engine, warmth_words
from formulas.drawing import plot
from formulas.engine_inputs import Ground, ZoneInput
from formulas.engine_results import band_points
from formulas.place_names import place_label
from formulas.shelf_search import limit_band
from formulas.snapshots import Mix, Parts, PlaceMark, PlainMix, Start, StoredSentence

# Half of the step in which levels are read.
UNSEEN_LEVELS = 0.25


@dataclass(frozen=True)
class Suggestion:
    """What the choice screen shows of one zone: the limit, the reachable, three places.

    `limit`, `mixes`, `places` and `start` are what a choice keeps; the limit's range is
    computed where a chart is drawn.

    Attributes
    ----------
    engine_version, data_version : str
    minutes : float
        Processing time. [min]
    bowl_grams : float
        Colour and developer. [g]
    wanted_level : float or None
        The level that the client wishes it to be as dark as.
    evaluated : int
        How many mixes were looked at.
    start : Start
    limit : list of [warmth left in percent, levels deeper]
    mixes : list of Mix
        The frontier, warmest first.
    places : list of PlaceMark
    named : tuple of engine.Shown
        The mixes that have a named place.
    keeps_to_practice : bool
        Whether the stock allows a mix within the salon's practice.
    """

    engine_version: str
    data_version: str
    minutes: float
    bowl_grams: float
    wanted_level: float | None
    evaluated: int
    start: Start
    limit: list[list[float]]
    mixes: list[Mix]
    places: list[PlaceMark]
    named: tuple[engine.Shown, ...]
    keeps_to_practice: bool
    ground: Ground = field(repr=False)
    read: ZoneInput = field(repr=False)

    def cost_words(self, mix: Mix) -> str:
        """Return what keeping to the salon's practice costs at a mix, in a sentence."""
        if not self.keeps_to_practice:
            return _("No mix from this stock follows your practice, so all mixes are offered.")
        costs = mix["practice_costs_levels"]
        if costs < UNSEEN_LEVELS:
            return _("Following your practice makes no visible difference here.")
        return _("Outside your practice a mix could look %(levels)s levels lighter.") % {
            "levels": number_format(round(costs, 1), 1)
        }

    @property
    def beginning(self) -> warmth_words.Beginning:
        """The hair's warmth before toning, as `warmth_words` takes it."""
        return {
            "start": self.start["warmth_percent"],
            "little": self.start["shows_little_warmth"],
        }

    def curve(
        self, *, chosen: float | None = None, name: str = "warmth_aim"
    ) -> plot.PlainCurve:
        """Return what `{% tradeoff_curve %}` draws."""
        has_depth = self.wanted_level is not None
        return {
            "limit": self.limit,
            "limit_band": band_points(limit_band(self.ground, self.read)),
            "mixes": [self._drawn(mix) for mix in self.mixes],
            "places": [
                {
                    "key": place["key"],
                    "warmth_left_percent": place["warmth_left_percent"],
                    "label": place_label(place["key"], has_depth=has_depth),
                }
                for place in self.places
            ],
            "chosen": chosen,
            "start": {
                "hex": self.start["hex"],
                "damp_hex": self.start["damp_hex"],
                "warmth_percent": self.start["warmth_percent"],
                "shows_little_warmth": self.start["shows_little_warmth"],
            },
            "name": name,
        }

    def _drawn(self, mix: Mix) -> plot.PlainMix:
        """Return a mix with the words beside it: its warmth, short and in full, its cost."""
        warmth = mix["warmth_left_percent"]
        return {
            "warmth_left_percent": warmth,
            "levels_deeper_looks": mix["levels_deeper_looks"],
            "hex": mix["hex"],
            "damp_hex": mix["damp_hex"],
            "label": mix["label"],
            "why": mix["why"],
            "cost": self.cost_words(mix),
            "words": warmth_words.short(warmth, **self.beginning),
            "in_full": warmth_words.in_full(warmth, **self.beginning),
            "warmth_low": mix["warmth_low"],
            "warmth_high": mix["warmth_high"],
            "deeper_low": mix["deeper_low"],
            "deeper_high": mix["deeper_high"],
        }


@dataclass(frozen=True)
class RankedMix:
    """A mix of the short list for a place: grams in a bowl, and why it is on the list.

    `grams` are by shade [g]; `gap_levels` is how much deeper it looks than the lightest mix as
    warm [levels]; `cost` of a bowl is None where a shade has no price; `bowls_in_stock` counts
    such bowls.
    """

    mix: PlainMix
    reasons: tuple[StoredSentence, ...]
    grams: tuple[tuple[str, float], ...] = ()
    gap_levels: float = 0.0
    cost: float | None = None
    bowls_in_stock: float = 0.0

    @property
    def parts(self) -> Parts:
        """Shades by name with their parts."""
        return self.mix["parts"]
