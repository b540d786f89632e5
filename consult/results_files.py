"""The owner's files: tables of results, the visits behind a figure, and both on paper."""

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import IO, Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.sealed import keys
from consult import services
from consult.forms.histories import read_question
from consult.history import behind_figures, conduct, overdue, overview, results_table
from consult.history.needs import needs_now
from consult.history.question import Question, visits_in_question
from consult.paper import pdf
from salon.csv_table import write_table
from salon.files import kinds
from salon.files.kinds import CSV, PDF, FileRefused, FileRequest, Kind, owners_only
from salon.files.progress import Progress
from salon.replica import from_replica

TABLES = (*results_table.TABLES, "visits", "conduct", "overdue")
PAPER = pdf.Paper("cards/results.html", flows=True)
LIST_PAPER = pdf.Paper("cards/visit_list.html", flows=True)
# A sheet is laid out as a whole: 400 rows take some ten seconds and 130 MB, 1,000 three times
# as much. A list of more is a file's, not a sheet's.
MOST_ON_PAPER = 400
MOST_PRINTED_AT_ONCE = 100


def how_visits_went(question: Question, at: dt.datetime) -> dict[str, Any]:
    """Return what is counted of the time's visits, and who is overdue now."""
    rhythm = overdue.rhythm(  # looks back longest: it comes first
        salon=question.salon, first=question.first, last=question.last, at=at,
        most=overdue.SHOWN,
    )  # fmt: skip
    counts = conduct.counts_of(question)
    return {
        "figures": conduct.figures(counts),
        "choices": conduct.choices(counts),
        "rhythm": rhythm,
    }


def reaches(answer: overview.Overview) -> dict[str, float]:
    """Return how far the interval plots of depth and of warmth reach either way."""
    return {
        "depth_reach": _reach(answer, "depth", least=0.5),
        "warmth_reach": _reach(answer, "warmth", least=15.0),
    }


def _reach(answer: overview.Overview, number: str, *, least: float) -> float:
    """Return how far the interval plots reach either way, the same for a whole column."""
    known = [getattr(group, number) for group in [*answer.lines, *answer.stylists]]
    ends = [max(abs(t.low), abs(t.high)) for t in known if t is not None]
    return float(max([least, *ends]))


def _question(wanted: FileRequest) -> Question:
    """Return what was asked; FileRefused where whose results they are is gone."""
    form, question = read_question(wanted.arguments, salon=wanted.salon, at=wanted.at)
    if form.errors:
        raise FileRefused(_("What it is about is no longer there."), code="gone")
    return question


def _kind_and_part(wanted: FileRequest) -> tuple[str, str]:
    return wanted.arguments["kind"], wanted.arguments["part"]


def _rows(wanted: FileRequest) -> int:
    """Return about how many rows a table is read from."""
    question, table = _question(wanted), wanted.arguments["table"]
    if table == "visits":
        return behind_figures.listed(question, *_kind_and_part(wanted)).count()
    if table == "conduct":
        return 0
    if table == "overdue":
        return overdue.rhythm(
            salon=question.salon, first=question.first, last=question.last, at=wanted.at, most=1
        ).late
    return min(visits_in_question(question).count(), overview.MOST_COMPARED)


def _write_table(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
    with keys.at_hand():
        header, rows = _table(wanted, _question(wanted))
        write_table(out, header, progress.over(rows))


def _table(
    wanted: FileRequest, question: Question
) -> tuple[Sequence[str], Iterable[Sequence[str]]]:
    """Return header and rows of one table of a time."""
    name = wanted.arguments["table"]
    if name == "visits":
        listed = behind_figures.listed(question, *_kind_and_part(wanted))
        return results_table.visits_table(behind_figures.in_pieces(question, listed))
    return from_replica(partial(_figures, name, question, wanted))


def _figures(
    name: str, question: Question, wanted: FileRequest
) -> tuple[list[str], list[list[str]]]:
    if name == "conduct":
        went = how_visits_went(question, wanted.at)
        return results_table.figures_table([*went["figures"], *went["choices"]])
    if name == "overdue":
        every = overdue.rhythm(
            salon=question.salon, first=question.first, last=question.last, at=wanted.at
        )
        return results_table.overdue_table(every.overdue)
    _known, runs = overview.runs_now(salon=question.salon, at=wanted.at)
    return results_table.table(name, overview.overview(question, runs))


def _clients_on_paper(wanted: FileRequest) -> int:
    return min(overview.clients_count(_question(wanted)), MOST_ON_PAPER)


def _print_results(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
    """Print the page's tables with their plots."""
    question, at = _question(wanted), wanted.at

    def read() -> dict[str, Any]:
        known, runs = overview.runs_now(salon=question.salon, at=at)
        needs, more = needs_now(salon=question.salon, known=known, runs=runs, at=at)
        answer = overview.overview(question, runs)
        return {
            "needs": needs, "more": more, "answer": answer, **reaches(answer),
            "clients": answer.clients[:MOST_ON_PAPER], **how_visits_went(question, at),
        }  # fmt: skip

    with keys.at_hand():
        context = {"at": at, **from_replica(read)}
        progress.say()  # to lay it out takes longest: who has cancelled is heard before
        out.write(_printed(PAPER, wanted, context))
    progress.add(len(context["clients"]))


def _visits_on_paper(wanted: FileRequest) -> int:
    listed = behind_figures.listed(_question(wanted), *_kind_and_part(wanted))
    return min(listed.count(), MOST_ON_PAPER)


def _print_visits(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
    """Print the visits behind a figure, the latest of a long list."""
    question, (kind, part) = _question(wanted), _kind_and_part(wanted)

    def read() -> dict[str, Any]:
        visits = behind_figures.listed(question, kind, part)
        shown = visits.order_by("-opened_at", "-pk").values_list("pk", flat=True)
        return {
            "found": visits.count(),
            "rows": behind_figures.rows_of(question, list(shown[:MOST_ON_PAPER])),
        }

    with keys.at_hand():
        context = {"title": conduct.labels()[kind], **from_replica(read)}
        progress.say()
        out.write(_printed(LIST_PAPER, wanted, context))
    progress.add(len(context["rows"]))


def _printed(paper: pdf.Paper, wanted: FileRequest, context: dict[str, Any]) -> bytes:
    whole = {
        **context, "salon": wanted.salon, "request": wanted, "question": _question(wanted),
    }  # fmt: skip
    return pdf.printed_paper(paper, whole).content


def _note(wanted: FileRequest) -> None:
    services.record_results_export(by=wanted.by, at=wanted.at, table=wanted.arguments["table"])


def _name(start: str, ending: str) -> Callable[[FileRequest], str]:
    def name(wanted: FileRequest) -> str:
        given = wanted.arguments
        return f"{given.get('table', start)}-{given['first']}-{given['last']}.{ending}"

    return name


def _noted(table: str) -> Callable[[FileRequest], None]:
    return lambda wanted: services.record_results_export(
        by=wanted.by, at=wanted.at, table=table
    )


def register() -> None:
    """Enter the kinds."""
    kinds.add(
        "results_csv",
        Kind(
            label=gettext_lazy("Results, CSV"), content_type=CSV, name=_name("results", "csv"),
            check=owners_only, note=_note, count=_rows, write=_write_table,
        ),
    )  # fmt: skip
    kinds.add(
        "results_pdf",
        Kind(
            label=gettext_lazy("Results, to print"), content_type=PDF,
            name=_name("results", "pdf"), check=owners_only, note=_noted("pdf"),
            count=_clients_on_paper, write=_print_results,
            most_at_once=MOST_PRINTED_AT_ONCE, opens=True,
        ),
    )  # fmt: skip
    kinds.add(
        "visits_pdf",
        Kind(
            label=gettext_lazy("Visits, to print"), content_type=PDF,
            name=_name("visits", "pdf"), check=owners_only, note=_noted("visits-pdf"),
            count=_visits_on_paper, write=_print_visits,
            most_at_once=MOST_PRINTED_AT_ONCE, opens=True,
        ),
    )  # fmt: skip
