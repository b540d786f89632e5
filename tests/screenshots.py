"""`make screenshots`: the README's pictures and a contact sheet, from the running demo.

Fills the demo salon in a database of its own, serves it, and photographs it in Chromium.
The README's pictures go to salon/pictures; the contact sheet of every page in three
viewports, light and dark, to test-results/contact-sheet with an index.html.
"""

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from tests.screenshots_on_the_way import photograph_on_the_way, take_back

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "salon" / "pictures"
SHEET = ROOT / "test-results" / "contact-sheet"
REFERENCE = "2026-11-25T10:20:00+00:00"
POST_ONLY = {405}
VIEWPORTS = {"desk": (1440, 900), "tablet": (1024, 768), "tablet-upright": (820, 1180)}


@contextlib.contextmanager
def demo_server() -> Iterator[str]:
    """Serve a freshly filled demo salon; yield its address."""
    with (
        tempfile.TemporaryDirectory(prefix="salon-pictures-") as folder,
        socket.socket() as free,
    ):
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        os.environ.update(
            SALON_MODE="local",
            DATABASE_URL=f"sqlite:///{folder}/salon.sqlite3",
            DJANGO_SETTINGS_MODULE="salon.settings",
            DJANGO_ALLOW_ASYNC_UNSAFE="true",
        )
        manage = [sys.executable, str(ROOT / "manage.py")]
        subprocess.run([*manage, "migrate", "--verbosity", "0"], check=True, cwd=ROOT)
        subprocess.run([*manage, "demo", "--reference", REFERENCE], check=True, cwd=ROOT)
        gunicorn = Path(sys.executable).parent / "gunicorn"
        command = [str(gunicorn), "salon.wsgi", "--bind", f"127.0.0.1:{port}", "--threads", "4"]
        server = subprocess.Popen(
            [*command, "--no-control-socket"], cwd=ROOT, stderr=subprocess.DEVNULL
        )
        address = f"http://127.0.0.1:{port}"
        try:
            _wait_for(address)
            yield address
        finally:
            server.terminate()
            server.wait()


def _wait_for(address: str) -> None:
    for _ in range(100):
        with contextlib.suppress(OSError):
            urllib.request.urlopen(f"{address}/healthz", timeout=1)  # noqa: S310
            return
        time.sleep(0.1)
    raise SystemExit("The demo server did not start.")


def pages() -> dict[str, dict[str, str]]:
    """Return every page of the product by who looks at it and a name of its own."""
    import django

    django.setup()
    from salon.access import BENCH, DESK
    from tests.every_page import every_page

    shown: dict[str, dict[str, str]] = {"imke": {}, "tomasz": {}, "brigid": {}}
    for page in every_page():
        known = {frozenset(map(str, DESK)): "imke", frozenset(map(str, BENCH)): "tomasz"}
        user = known.get(page.roles, "brigid")
        shown[user][page.name.replace(":", "-")] = page.path
    return shown


def seat(browser: Browser, address: str, user: str, size: tuple[int, int], scheme: str) -> Page:
    """Sign someone in at a screen of a given size and colour scheme."""
    from consult.demo.cast import PASSWORD

    context = browser.new_context(
        base_url=address,
        viewport={"width": size[0], "height": size[1]},
        color_scheme=scheme,  # type: ignore[arg-type]
        locale="en-GB",
        timezone_id="Europe/London",
        bypass_csp=True,  # for STILL, below
    )
    page = context.new_page()
    page.goto("/sign-in/")
    page.get_by_label("User name").fill(user)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    return page


# A bar that sticks to the window's foot would lie across the middle of a whole page.
STILL = ".action-bar, .topbar { position: static !important; }"


def photograph(page: Page, path: str, file: Path, *, whole: bool = False) -> int:
    """Take a picture of a page and return its status; a download or a POST-only has none.

    It is asked for without the browser first: what Chromium cannot show, a 405 without a body
    or a download, would break off the next page's loading too.
    """
    answer = page.request.get(path)
    if answer.ok and "html" in answer.headers.get("content-type", ""):
        page.goto(path)
        page.wait_for_load_state("load")
        if whole:
            page.add_style_tag(content=STILL)
        page.screenshot(path=file, full_page=whole)
    return answer.status


def main() -> None:
    """Draw the README's pictures, then the contact sheet unless `--readme` is given."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    readme = {
        "imke": {"diary": "clients-day"},
        "tomasz": {"choice": "consult-choice", "formula": "consult-formula"},
        "brigid": {"history": "consult-tones"},
    }
    with demo_server() as address, sync_playwright() as playwright:
        chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        shown = pages()
        every = {name: path for paths in shown.values() for name, path in paths.items()}
        every["clients-day"] = f"/day/{REFERENCE[:10]}/"  # today may be past what is booked
        for user, names in readme.items():
            for name, route in names.items():
                device = {"choice": "tablet-upright", "formula": "tablet"}.get(name, "desk")
                page = seat(browser, address, user, VIEWPORTS[device], "light")
                status = photograph(page, every[route], PICTURES / f"{name}.png")
                print(f"{status} {name}")
        if "--readme" not in sys.argv:
            contact_sheet(browser, address, shown)
        browser.close()


def contact_sheet(browser: Browser, address: str, shown: dict[str, dict[str, str]]) -> None:
    """Photograph every page in every viewport, light and dark, and write an index."""
    shutil.rmtree(SHEET, ignore_errors=True)
    SHEET.mkdir(parents=True)
    rows, wrong = [], []
    for scheme in ("light", "dark"):
        for device, size in VIEWPORTS.items():
            for user, paths in shown.items():
                page = seat(browser, address, user, size, scheme)
                for name, path in paths.items():
                    file = SHEET / f"{name}-{device}-{scheme}.png"
                    status = photograph(page, path, file, whole=True)
                    if status >= 400 and status not in POST_ONLY:
                        wrong.append(f"{status} {path}")
                    if file.exists():
                        rows.append(f'<figure><img src="{file.name}" width="420"><figcaption>')
                        rows.append(
                            f"{status} {name}, {device}, {scheme}</figcaption></figure>"
                        )
                page.context.close()
    page = seat(browser, address, "brigid", VIEWPORTS["tablet"], "light")
    photograph_on_the_way(page, _in_every_light, **_half_way())
    photograph_hair(page)
    for file in sorted(SHEET.glob("way-*.png")):
        rows.append(f'<figure><img src="{file.name}" width="420"><figcaption>')
        rows.append(f"200 {file.stem}</figcaption></figure>")
    (SHEET / "index.html").write_text("<!doctype html>" + "\n".join(rows))
    print(f"{SHEET / 'index.html'}: {len(rows) // 2} pictures")
    if wrong:
        raise SystemExit("\n".join(["Pages that did not answer as they should:", *wrong]))


def _half_way() -> dict[str, int]:
    """Return the demo's visits that stand at the choice and at the bench."""
    from django.utils import timezone

    from consult.models import Visit
    from consult.visit.loading import facts_of
    from consult.visit.path import Step

    due = {facts_of(one, at=timezone.now()).due: one.pk for one in Visit.objects.open()}
    return {"at_choice": due[Step.CHOICE], "at_bench": due[Step.BENCH]}


def photograph_hair(page: Page) -> None:
    """Photograph the client's choice for each kind of hair, lying and upright."""
    from salon.models import Salon, Staff
    from tests.screenshots_of_hair import visits_by_hair

    by = Staff.objects.get(username="brigid")
    for kind, visit in visits_by_hair(Salon.objects.get(pk=by.salon_id), stylist=by).items():
        page.goto(f"/visits/{visit}/choice/")
        page.get_by_role("button", name="Hand over the tablet").click()
        page.wait_for_url("**/client/choice/")
        page.wait_for_load_state("networkidle")
        for device in ("tablet", "tablet-upright"):
            width, height = VIEWPORTS[device]
            page.set_viewport_size({"width": width, "height": height})
            page.screenshot(path=SHEET / f"way-hair-{kind.replace(' ', '-')}-{device}.png")
        take_back(page)


def _in_every_light(page: Page, name: str) -> None:
    """Photograph the page that stands here in every viewport, light and dark."""
    page.wait_for_load_state("networkidle")
    page.add_style_tag(content=STILL)
    for device, size in VIEWPORTS.items():
        page.set_viewport_size({"width": size[0], "height": size[1]})
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            page.screenshot(path=SHEET / f"way-{name}-{device}-{scheme}.png", full_page=True)
    width, height = VIEWPORTS["tablet"]
    page.set_viewport_size({"width": width, "height": height})
    page.emulate_media(color_scheme="light")


if __name__ == "__main__":
    main()
