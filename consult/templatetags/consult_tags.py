"""Small filters of the visit's pages: zones, levels and mixes in words."""

from collections.abc import Mapping
from typing import Any

from django import template
from django.utils.formats import number_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from consult import zones
from consult.agreement import anchors, statement
from consult.agreement.wished_depth import colour_name
from consult.bench import check_times, reasons
from consult.bench.recipes import as_text
from consult.models import BowlMixed, ChosenPlace, HairFacts
from formulas import warmth_words
from formulas.engine_results import mix_in_words
from formulas.place_names import place_label
from formulas.snapshots import Outlook
from salon.access import BENCH
from salon.templatetags.components import isolated

register = template.Library()


@register.filter
def reason_words(stored: reasons.Reason | str) -> str:
    """Return a stored reason or caution about a mix in the reader's language."""
    return reasons.words(stored)


@register.simple_tag
def order_of_application(key: str, last: Mapping[str, int]) -> str:
    """Say in which order a bowl goes on: "Roots first; ends for the last 7 minutes."."""
    return check_times.order_of_application(key, last)


@register.inclusion_tag("consult/_clocks.html", takes_context=True)
def cover_clocks(context: Any) -> dict[str, object]:
    """Draw what is on the hair in the salon, for the cover of a locked screen."""
    user = getattr(context.get("request"), "user", None)
    at_bench = user is not None and user.is_authenticated and user.role in BENCH
    clocks = check_times.on_a_cover(salon=user.salon) if user and at_bench else []
    return {"clocks": clocks, "is_cover": True, "is_quiet": True}


@register.inclusion_tag("consult/_clocks.html")
def visit_clocks(facts: Any, page_key: str) -> dict[str, object]:
    """Draw what is on the hair in this visit; on the bench its larger clocks call."""
    clocks = check_times.of_visit(state.bowl for state in facts.running) if facts else []
    return {"clocks": clocks, "is_cover": False, "is_quiet": page_key == "bench"}


register.filter(isolated)
register.filter("fingerprint", anchors.fingerprint)
register.filter("warmth", warmth_words.short_of)
register.filter("warmth_left", warmth_words.in_full_of)
register.filter("warmth_range", warmth_words.range_of)


@register.filter
def zones_title(key: str) -> str:
    """Say a group of zones at the start of a line."""
    return zones.title(key)


@register.filter
def zones_words(key: str) -> str:
    """Say a group of zones inside a sentence."""
    return zones.words(key)


@register.filter
def place_name(place: ChosenPlace) -> str:
    """Return a chosen place's name, with the depth that was wished: "Coolest, as dark as …"."""
    wanted = place.wanted_level
    label = place_label(place.place, has_depth=wanted is not None)
    if wanted is None:
        return label
    return _("%(place)s, as dark as natural %(colour)s") % {
        "place": label,
        "colour": colour_name(wanted),
    }


@register.filter
def natural_colour(level: float) -> str:
    """Return natural hair of a level in words: "light brown (level 5)"."""
    return colour_name(float(level))


@register.filter
def level(value: Any) -> str:
    """Return a level in half steps, in the reader's own digits."""
    return statement.half_level(float(value))


@register.filter
def level_now(predicted: Outlook, lifted_level: Any) -> float:
    """Return the level that hair looks like before the toner, as the statement says it."""
    return statement.level_now(float(lifted_level), predicted)


@register.filter
def tenth(value: Any) -> str:
    """Return a number with one decimal, in the reader's own digits."""
    return statement.one_decimal(float(value))


@register.filter
def hundredth(value: Any) -> str:
    """Return a number with two decimals, in the reader's own digits."""
    return number_format(round(float(value), 2) + 0.0, 2)


@register.filter
def signed(value: Any) -> str:
    """Return a number with one decimal and its sign."""
    text = statement.one_decimal(float(value))
    return f"+{text}" if float(value) > 0.049 else text


@register.filter
def whole(value: Any) -> str:
    """Return a whole number, in the reader's own digits."""
    return statement.whole(float(value))


@register.filter
def signed_whole(value: Any) -> str:
    """Return a whole number with its sign."""
    text = statement.whole(float(value))
    return f"+{text}" if round(float(value)) > 0 else text


@register.filter
def grams(value: Any) -> str:
    """Return grams with one decimal, in the reader's own digits."""
    return number_format(value, 1, force_grouping=True)


@register.filter
def mix_words(formula: Any) -> str:
    """Say a formula: "2 parts 8 natural, 1 part 8 violet-blue"."""
    return mix_in_words([(line.name, float(line.parts)) for line in formula.lines.all()])


@register.filter
def poured_words(bowl: BowlMixed) -> str:
    """Say a bowl as it was poured: "8 natural 20.1 g, developer 30.0 g (1.9 %)"."""
    poured = [(line.name, grams(line.poured_grams)) for line in bowl.lines.all()]
    parts = [f"{name} {weight}\u00a0g" for name, weight in poured]
    developer = _("developer %(grams)s g, %(percent)s %% in the mixture") % {
        "grams": grams(bowl.developer_grams),
        "percent": plain(bowl.strength_percent),
    }
    return ", ".join([*parts, developer])


@register.filter
def mix_text(formula: Any) -> str:
    """Return a formula's parts as an address carries them."""
    return as_text({line.shade_id: line.parts for line in formula.lines.all()})


@register.filter
def rinse_key(key: str) -> str:
    """Return a group's key as a form field's name carries it."""
    return key.replace(",", "-")


@register.filter
def unlocalized(value: Any) -> str:
    """Return a number as forms send it: a point, no grouping."""
    return f"{value.normalize():f}"


@register.filter
def plain(value: Any) -> str:
    """Return a decimal without trailing zeros, in the reader's own digits."""
    text = f"{value.normalize():f}"
    return number_format(text, len(text.partition(".")[2]))


@register.filter
def unlocalized_number(value: Any) -> int:
    """Return a count for choosing between singular and plural; a half counts as several."""
    return 1 if value == 1 else 2


@register.filter
def unlocalized_whole(value: Any) -> str:
    """Return a whole number as an address carries it."""
    return str(round(float(value)))


@register.filter
def undertone_words(value: Any) -> str:
    """Say an undertone from more orange (-1) to more golden (+1)."""
    place = float(value)
    if place <= -0.75:
        return _("much more orange")
    if place <= -0.25:
        return _("more orange")
    if place < 0.25:
        return _("average")
    return _("more golden") if place < 0.75 else _("much more golden")


@register.filter
def hair_words(facts: HairFacts | None) -> str:
    """Say what was seen of the whole head, if anything: "Texture fine, density thin."."""
    if facts is None:
        return ""
    seen = []
    if facts.texture:
        seen.append(_("texture %(texture)s") % {"texture": facts.get_texture_display()})
    if facts.density:
        seen.append(_("density %(density)s") % {"density": facts.get_density_display()})
    if facts.length:
        seen.append(_("length %(length)s") % {"length": facts.get_length_display()})
    return capfirst(", ".join(seen)) + "." if seen else ""


@register.filter
def porosity_words(value: Any) -> str:
    """Say a porosity from low (-1) to high (+1)."""
    names = {
        -1: _("low"),
        -0.5: _("rather low"),
        0: _("normal"),
        0.5: _("rather high"),
        1: _("high"),
    }
    return names[min(names, key=lambda place: abs(place - float(value)))]


@register.filter(is_safe=True)
def tied(text: Any) -> str:
    """Return a text whose per cent signs stay with their numbers at a line's end."""
    return statement.tied(str(text))
