"""The engine's command line: words and numbers in, text or JSON out."""

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from typing import Any

from formulas.engine import checks
from formulas.engine.cli import answers, calibrate, heads, simulate
from formulas.engine.cli.words import head_zones, porosity_of, undertone_at
from formulas.engine.toner.lines import Line, demo_lines
from formulas.engine.toner.zone import UNDERTONE_WORDS, Residual, Zone


def main(arguments: Sequence[str] | None = None) -> int:
    """Answer one command; return 0, or 2 where a word or number was wrong."""
    given = _parser().parse_args(arguments)
    try:
        answer = given.answer(given)
    except ValueError as error:
        print(f"{given.command}: {error}", file=sys.stderr)
        return 2
    if given.json:
        print(json.dumps(answer.data, ensure_ascii=False, indent=2, allow_nan=False))
    else:
        print("\n".join(answer.lines))
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m formulas.engine",
        description="Predict a toner, draw the limit that no mix can cross, or search every "
        "mix of a line. Estimates with a range: a strand test decides.",
    )
    commands = parser.add_subparsers(dest="command", required=True)

    predict = _command(commands, "predict", _predict, "what a mix gives on this hair")
    predict.add_argument(
        "--part",
        nargs=2,
        action="append",
        required=True,
        metavar=("SHADE", "PARTS"),
        help='such as "8 natural" 2; may be repeated',
    )
    predict.add_argument("--developer-ratio", type=float, help="parts of developer to one")

    limit = _command(commands, "limit", _limit, "the lightest result for each warmth")
    limit.add_argument("--points", type=int, default=25)

    search = _command(commands, "search", _search, "every mix, and the best for an aim")
    search.add_argument("--max-shades", type=int, default=3)
    search.add_argument("--max-parts", type=int, default=6)
    search.add_argument(
        "--aim", type=float, action="append", help="warmth to keep, in percent; repeatable"
    )
    search.add_argument("--k", type=int, default=5, help="how many mixes for each aim")

    text = "how ranges and learning do in invented salons whose truth is known"
    simulation = commands.add_parser("simulate", help=text, description=text)
    simulation.set_defaults(answer=_simulate)
    simulation.add_argument("--line", help=f"one of {', '.join(demo_lines())}")
    simulation.add_argument("--salons", type=int, default=12)
    simulation.add_argument("--results", type=int, default=200, help="of each salon")
    simulation.add_argument("--measured", action="store_true", help="not read by eye")
    simulation.add_argument("--seed", type=int, default=1)
    simulation.add_argument("--json", action="store_true")

    suggest = _command(
        commands, "suggest", _suggest, "the mixes that a colourist would mix", level=False
    )
    suggest.add_argument(
        "--zone",
        nargs="+",
        action="append",
        default=[],
        metavar=("NAME", "KEY=VALUE"),
        help="a zone of the head, such as: roots level=7.5 natural=5 undertone=golden white=20 "
        "porosity=high deeper=0.5; or the same as a JSON object with its name; repeatable",
    )
    suggest.add_argument(
        "--wanted-level", type=float, help="as dark as a natural of this level, 1 to 10"
    )
    suggest.add_argument("--bowl", type=float, default=60.0, help="grams in the bowl")

    calibrate = commands.add_parser("calibrate", help="the trade's facts beside the model")
    calibrate.set_defaults(answer=_calibrate)
    calibrate.add_argument("--fit", action="store_true", help="search for better constants")
    calibrate.add_argument("--json", action="store_true")
    return parser


def _command(
    commands: Any,
    name: str,
    answer: Callable[[argparse.Namespace], Any],
    text: str,
    *,
    level: bool = True,
) -> argparse.ArgumentParser:
    """Add a command with the options that say what hair it is about."""
    parser: argparse.ArgumentParser = commands.add_parser(name, help=text, description=text)
    parser.set_defaults(answer=answer)
    parser.add_argument("--level", type=float, required=level, help="lifted level, 1 to 10")
    parser.add_argument(
        "--undertone",
        default="0",
        help=f"-1 (more orange) to 1 (more golden), or {', '.join(UNDERTONE_WORDS)}",
    )
    parser.add_argument("--white", type=float, default=0.0, help="white fibres, percent")
    parser.add_argument("--porosity", default="0", help="-1 to 1, or low, normal, high")
    parser.add_argument("--line", help=f"one of {', '.join(demo_lines())}")
    parser.add_argument("--minutes", type=float, help="processing time; the line's own")
    parser.add_argument(
        "--last-part",
        nargs=2,
        action="append",
        default=[],
        metavar=("SHADE", "PARTS"),
        help="toner of the last visit that is still there; may be repeated",
    )
    parser.add_argument("--washes", type=float, default=0.0, help="washes since then")
    parser.add_argument("--json", action="store_true")
    return parser


def _predict(given: argparse.Namespace) -> answers.Answer:
    line = _line(given)
    return answers.predicted(
        _zone(given, line),
        line,
        _parts(given.part, line),
        minutes=given.minutes,
        developer_ratio=given.developer_ratio,
    )


def _limit(given: argparse.Namespace) -> answers.Answer:
    return answers.limited(_zone(given, _line(given)), points=given.points)


def _search(given: argparse.Namespace) -> answers.Answer:
    line = _line(given)
    return answers.searched(
        _zone(given, line),
        line,
        minutes=given.minutes,
        max_shades=given.max_shades,
        max_parts=given.max_parts,
        aims=given.aim or [],
        k=given.k,
    )


def _simulate(given: argparse.Namespace) -> answers.Answer:
    for name in ("salons", "results"):
        checks.whole(getattr(given, name), name=name, low=1, high=10_000)
    return simulate.simulated(
        _line(given),
        salons=given.salons,
        results=given.results,
        measured=given.measured,
        seed=given.seed,
    )


def _suggest(given: argparse.Namespace) -> answers.Answer:
    line = _line(given)
    if given.zone:
        zones, deeper = head_zones(given.zone)
        return heads.suggested(
            zones,
            line,
            deeper=deeper,
            minutes=given.minutes,
            wanted_level=given.wanted_level,
            bowl_grams=given.bowl,
        )
    if given.level is None:
        raise ValueError("give --level, or one --zone or more")
    return answers.suggested(
        _zone(given, line),
        line,
        minutes=given.minutes,
        wanted_level=given.wanted_level,
        bowl_grams=given.bowl,
    )


def _calibrate(given: argparse.Namespace) -> answers.Answer:
    return calibrate.calibrated(fit=given.fit)


def _line(given: argparse.Namespace) -> Line:
    lines = demo_lines()
    if given.line is None:
        return next(iter(lines.values()))
    for name, line in lines.items():
        if name.casefold() == given.line.strip().casefold():
            return line
    raise ValueError(f"line {given.line!r}: use one of {', '.join(lines)}")


def _zone(given: argparse.Namespace, line: Line) -> Zone:
    level = Zone(lifted_level=given.level).lifted_level  # refuses an absurd one first
    residual = None
    if given.last_part:
        parts = _parts(given.last_part, line)
        residual = Residual(line=line, parts=parts, washes=given.washes)
    return Zone(
        lifted_level=level,
        undertone=undertone_at(given.undertone, level=level),
        white_percent=given.white,
        porosity=porosity_of(given.porosity),
        residual=residual,
    )


def _parts(pairs: Sequence[Sequence[str]], line: Line) -> dict[str, float]:
    """Return parts by the line's own names; a shade given twice gets both."""
    parts: dict[str, float] = {}
    for name, amount in pairs:
        own = line.shade(name).name
        try:
            count = float(amount)
        except ValueError:
            raise ValueError(
                f"parts of {own} [parts] must be a number, given {amount!r}"
            ) from None
        checked = line.resolved({own: count})
        parts[own] = parts.get(own, 0.0) + checked[own]
    return parts
