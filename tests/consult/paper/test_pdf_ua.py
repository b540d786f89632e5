"""Every paper that claims PDF/UA-1 has what it asks of a structure tree; see `pdf_ua`."""

import io
import zipfile
from collections.abc import Callable, Iterator

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from clients.models import PatchTest
from consult.paper import content, pdf
from consult.portability.archive import write_archive
from salon.files.progress import Progress
from salon.models import Staff
from tests.consult.paper.pdf_ua import faults
from tests.factories.consult import SIGNATURE, Story


@pytest.fixture
def signed(story: Story) -> Story:
    """A visit with everything on paper: a drawn signature, a bowl, a result."""
    story.answer().read()
    story.choose()
    story.sign(method="drawn", drawn=SIGNATURE)
    story.decide()
    story.process().see().close()
    return story


def _papers(story: Story) -> Iterator[tuple[str, bytes]]:
    visit = story.visit
    signed = visit.sign_offs.get()
    bench = content.bench_card(visit, address="https://salon.example/visits/1/")
    slip = content.patch_slip(PatchTest.objects.filter(client=visit.client).latest("pk"))
    for name, paper, context in (
        ("visit card", content.CARD, content.visit_card(visit)),
        ("small visit card", content.SMALL_CARD, content.visit_card(visit)),
        ("bench card", content.BENCH_CARD, bench),
        ("small bench card", content.SMALL_BENCH_CARD, bench),
        ("sign-off", content.SIGN_OFF, content.sign_off_sheet(signed)),
        ("small sign-off", content.SMALL_SIGN_OFF, content.sign_off_sheet(signed)),
        ("slip", content.SLIP, slip),
    ):
        yield name, pdf.printed_paper(paper, context).content
    archive = io.BytesIO()
    write_archive(visit.client, archive, at=timezone.now(), progress=Progress())
    with zipfile.ZipFile(archive) as opened:
        yield "everything", opened.read("read-me.pdf")


def test_every_paper_has_the_structure_that_it_claims(
    signed: Story, owner: Staff, client_for: Callable[[Staff], Browser]
) -> None:
    found = {name: sorted(set(faults(paper))) for name, paper in _papers(signed)}
    for name in ("results_pdf", "visit_list_pdf"):
        sent = client_for(owner).post(reverse(f"consult:{name}"), {"period": "90"})
        found[name] = sorted(set(faults(sent.content)))

    assert {name: wrong for name, wrong in found.items() if wrong} == {}


def test_what_is_missing_is_named() -> None:
    """A page of the same library without words, heads and language."""
    from weasyprint import HTML

    picture = '<svg width="9" height="9" role="img"><path d="M0 0h9v9z"/></svg>'
    page = f"<h3>Low</h3>{picture}<table><tr><td>1</td></tr></table><a href='https://a.example'></a>"

    wrong = faults(HTML(string=page).write_pdf(pdf_variant="pdf/ua-1"))

    assert {"no language", "no title", "H3 after H0", "a table without heads"} <= set(wrong)
