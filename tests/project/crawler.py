"""A crawler with a session: follows every link and every GET form that a page offers."""

from collections import Counter, deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urlencode, urljoin, urlsplit

from django.http import QueryDict
from django.test import Client as Browser
from django.urls import ResolverMatch, resolve

from tests.typed import Answer

HERE = "http://testserver"
# Of pages that differ only in their record or their filter, so many are read.
MOST_OF_A_ROUTE, MOST_PAPERS = 4, 1
PAPERS = {"application/pdf", "image/jpeg", "image/png", "text/calendar", "text/vcard"}


@dataclass
class Seen:
    """A page that was opened, from where, and what it answered."""

    path: str
    came_from: str
    answer: Answer
    match: ResolverMatch
    forms: list["Form"] = field(default_factory=list)
    inline: list[str] = field(default_factory=list)

    @property
    def kind(self) -> str:
        """The media type, without its parameters."""
        return self.answer.headers.get("Content-Type", "").partition(";")[0]

    @property
    def text(self) -> str:
        """What it says; empty of pictures, papers and what is streamed."""
        is_text = self.kind.startswith("text/") or self.kind == "application/json"
        return "" if self.answer.streaming or not is_text else self.answer.text


@dataclass
class Form:
    """A form of a page, with what it sends as it stands."""

    method: str
    action: str
    fields: list[tuple[str, str]] = field(default_factory=list)

    @property
    def names(self) -> set[str]:
        """The names of its fields."""
        return {name for name, _value in self.fields}


class _Reader(HTMLParser):
    """Reads links, forms, and what a content security policy would stop."""

    def __init__(self) -> None:
        super().__init__()
        self.links: list[str] = []
        self.forms: list[Form] = []
        self.inline: list[str] = []
        self._form: Form | None = None
        self._select: str = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.inline += [f"<{tag} {name}>" for name in given if name.startswith("on")]
        if "style" in given:
            self.inline.append(f"<{tag} style>")
        if tag == "script" and "src" not in given and given.get("type") != "application/json":
            self.inline.append("<script> without a source")
        if tag == "style":
            self.inline.append("<style>")
        if tag == "a" and given.get("href"):
            self.links.append(given["href"])
        for name in ("hx-get",):
            if given.get(name):
                self.links.append(given[name])
        if tag == "form":
            self._form = Form(given.get("method", "get").lower(), given.get("action", ""))
            self.forms.append(self._form)
        if self._form is not None:
            self._read_field(tag, given)

    def _read_field(self, tag: str, given: dict[str, str]) -> None:
        form, name = self._form, given.get("name", "")
        assert form is not None
        if tag == "select":
            self._select = name
        elif tag == "option" and self._select and "selected" in given:
            form.fields.append((self._select, given.get("value", "")))
        elif tag == "input" and name:
            ticks = given.get("type") in {"checkbox", "radio"}
            if not ticks or "checked" in given:
                form.fields.append((name, given.get("value", "")))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        if tag == "select":
            self._select = ""


def crawl(browser: Browser, start: str = "/") -> Iterator[Seen]:
    """Yield every page that can be reached from the start page by links and GET forms."""
    waiting, known = deque([(start, "")]), {start}
    of_route: Counter[str] = Counter()
    while waiting:
        path, came_from = waiting.popleft()
        match = resolve(urlsplit(path).path)
        name = match.view_name
        if name.startswith("salon:sign_") or of_route[name] >= MOST_OF_A_ROUTE:
            continue
        answer = browser.get(path)
        seen = Seen(path, came_from, answer, match)
        of_route[name] += MOST_OF_A_ROUTE // MOST_PAPERS if seen.kind in PAPERS else 1
        found = _found(seen)
        yield seen
        for address in found:
            if address not in known:
                known.add(address)
                waiting.append((address, path))


def _found(seen: Seen) -> list[str]:
    """Return where a page leads, on this site."""
    leads: list[str] = []
    if seen.answer.status_code in {301, 302, 303}:
        leads = [seen.answer.headers["Location"]]
    elif seen.kind == "text/html":
        reader = _Reader()
        reader.feed(seen.text)
        seen.forms, seen.inline = reader.forms, reader.inline
        leads = list(reader.links)
        for form in reader.forms:
            if form.method == "get":
                query = urlencode([pair for pair in form.fields if pair[0]])
                leads.append(f"{form.action or urlsplit(seen.path).path}?{query}")
    return [address for lead in leads if (address := _own(seen.path, lead))]


def _own(page: str, link: str) -> str:
    """Return the path of a link of this site, its query in order; empty for all others."""
    parts = urlsplit(urljoin(HERE + page, link))
    if f"{parts.scheme}://{parts.netloc}" != HERE:
        return ""
    if parts.path.startswith(("/static/", "/sign-out/")):
        return ""
    query = QueryDict(parts.query).urlencode()
    return f"{parts.path}?{query}" if query else parts.path
