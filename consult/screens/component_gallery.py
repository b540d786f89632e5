"""Invented values for the page that shows every component in all its states."""

from datetime import datetime, timedelta

from django import forms
from django.utils.translation import gettext_lazy as _

from formulas.drawing.plot import PlainCurve, PlainMix, PlainPlace, PlainStart
from salon.numbers import Number
from salon.widgets import DateInput, RadioCards, Segments, Stepper, TimeInput

# fmt: off
DRY = ["#2a1d16", "#4b2e1f", "#7a4423", "#a8642f", "#c98a45", "#dcb26e", "#ead3a0", "#b9a58c",
       "#8d8078"]
DAMP = ["#1a120e", "#2f1d14", "#4f2c17", "#73431f", "#8f5f2e", "#a5834f", "#b6a179", "#84745f",
        "#5f554f"]
GREYS = [4, 8, 12, 16, 20, 26, 30, 40, 48, 55, 62, 70, 78, 84, 88, 92, 95, 97, 100]
# fmt: on
AT_REST = {"level": "7.5", "grams": "60", "porosity": "normal", "undertone": "chart"}
NOW_HEX, NOW_DAMP = "#c98a45", "#8f5a2a"


class SampleForm(forms.Form):
    """One field of each kind."""

    name = forms.CharField(label=_("Name"), help_text=_("As on a letter."))
    note = forms.CharField(label=_("Note"), required=False, widget=forms.Textarea({"rows": 3}))
    day = forms.DateField(label=_("Day"), widget=DateInput())
    time = forms.TimeField(label=_("Time"), widget=TimeInput())
    stylist = forms.ChoiceField(
        label=_("Stylist"),
        choices=[("1", "Mara Lindqvist"), ("2", "Ιωάννα Παππά"), ("3", "山田 花子")],
    )
    level = Number(
        label=_("Lifted level"),
        min_value=1,
        max_value=10,
        widget=Stepper({"step": "0.5"}),
        help_text=_("In half levels; 1 is darkest."),
    )
    grams = Number(label=_("Bowl"), min_value=0, widget=Stepper(unit="g"))
    porosity = forms.ChoiceField(
        label=_("Porosity"),
        choices=[("low", _("Low")), ("normal", _("Normal")), ("high", _("High"))],
        widget=Segments(),
    )
    undertone = forms.ChoiceField(
        label=_("Undertone"),
        choices=[
            ("orange", _("More orange")),
            ("chart", _("Average")),
            ("golden", _("More golden")),
        ],
        widget=RadioCards(
            more={
                "orange": _("Redder than the level usually shows."),
                "chart": _("What the level usually shows."),
                "golden": _("Yellower than the level usually shows."),
            }
        ),
    )
    agreed = forms.BooleanField(label=_("The client has seen the strand test"))
    allergies = forms.MultipleChoiceField(
        label=_("Known allergies"),
        required=False,
        choices=[("ppd", _("Hair dye")), ("latex", _("Latex")), ("other", _("Something else"))],
        widget=forms.CheckboxSelectMultiple(),
    )


def sample_curve() -> PlainCurve:
    """Return an invented curve: a formula for the page, no chemistry."""
    ramp = [
        "#c98a45", "#c58745", "#bf8345", "#b87f46", "#b07a46", "#a87546", "#9f7047", "#966b48",
        "#8d6648", "#846149", "#7b5d4a", "#73594b", "#6b554c", "#64524c", "#5e4f4c",
    ]  # fmt: skip
    mixes: list[PlainMix] = []
    for i, colour in enumerate(ramp):
        warmth = 94 - i * 7
        deeper = 0.32 + 2.1 * ((100 - warmth) / 100) ** 1.35
        mixes.append(
            {
                "warmth_left_percent": warmth,
                "levels_deeper_looks": deeper,
                "warmth_low": warmth - 9,
                "warmth_high": warmth + 9,
                "deeper_low": deeper - 0.3,
                "deeper_high": deeper + 0.35,
                "hex": colour,
                "damp_hex": ramp[min(len(ramp) - 1, i + 6)],
            }
        )
    limit = [[w, 1.75 * ((100 - w) / 100) ** 1.4] for w in range(100, -11, -5)]
    places: list[PlainPlace] = [
        {"key": "bright", "label": str(_("Bright")), "warmth_left_percent": 80},
        {"key": "between", "label": str(_("Between")), "warmth_left_percent": 45},
        {"key": "cool", "label": str(_("Cool")), "warmth_left_percent": 10},
    ]
    start: PlainStart = {"hex": NOW_HEX, "damp_hex": NOW_DAMP}
    return {"limit": limit, "mixes": mixes, "places": places, "chosen": 45, "start": start}


def sample_page(*, at: datetime) -> dict[str, object]:
    """Return what the page shows."""
    refused = SampleForm(
        {"name": "", "level": "11", "grams": "-1", "porosity": "high"}, auto_id="refused_%s"
    )
    refused.full_clean()
    refused.add_error(None, _("The patch test is not yet 48 hours old."))
    opens = at.replace(hour=9, minute=0, second=0, microsecond=0)
    blocks = [
        ("Ada Brandt", _("Toner"), 0, 60, "done"),
        ("Łucja Wiśniewska", _("Lightening and toner"), 75, 180, "here"),
        ("نور الهدى", _("Patch test"), 270, 15, ""),
        ("Θεοδώρα Μ.", _("Toner"), 300, 60, "stopped"),
        ("Greta Holm", _("Cut"), 375, 45, "off"),
    ]
    words = {
        "done": _("done"),
        "here": _("in progress"),
        "stopped": _("no valid patch test"),
        "off": _("cancelled"),
        "": _("booked"),
    }
    return {
        "form": SampleForm(initial=AT_REST),
        "refused": refused,
        "curve": sample_curve(),
        "greys": GREYS,
        "strands": DRY,
        "damp_strands": DAMP,
        "zones": [
            {"zone": "roots", "hex": "#7a4423", "note": _("level 5")},
            {"zone": "mid_lengths", "hex": "#c98a45", "note": _("level 7.5")},
            {"zone": "ends", "hex": "#ead3a0", "note": _("level 9")},
        ],
        "half_read": [{"zone": "roots", "hex": "#7a4423", "note": _("level 5")}],
        "steps": [
            {"label": _("Safety"), "href": "#steps", "state": "done"},
            {"label": _("Hair"), "href": "#steps", "state": "done"},
            {"label": _("Choice"), "href": "#steps", "state": "current"},
            {"label": _("Sign-off"), "href": "", "state": "next"},
            {"label": _("Formula"), "href": "", "state": "next"},
            {"label": _("Bench"), "href": "", "state": "stopped"},
            {"label": _("Result"), "href": "", "state": "next"},
            {"label": _("Card"), "href": "", "state": "next"},
        ],
        "now": at,
        "started": at - timedelta(minutes=8, seconds=20),
        "overdue": at - timedelta(minutes=27),
        "stopped": at - timedelta(minutes=3),
        "opens": opens,
        "hours": [opens + timedelta(hours=h) for h in range(8)],
        "blocks": [
            {
                "who": who,
                "what": what,
                "starts": opens + timedelta(minutes=start),
                "ends": opens + timedelta(minutes=start + length),
                "state": state,
                "said": words[state],
            }
            for who, what, start, length, state in blocks
        ],
    }
