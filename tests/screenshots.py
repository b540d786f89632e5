"""`make screenshots`: the README's pictures and a contact sheet, from the running demo.

Fills the demo salon in a database of its own, serves it, and photographs it in Chromium.
The README's pictures go to static/pictures; the contact sheet of every page in three
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

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "static" / "pictures"
SHEET = ROOT / "test-results" / "contact-sheet"
REFERENCE = "2026-11-25T10:20:00+00:00"
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
    """Return every page worth a picture, by who looks at it and a name."""
    import django

    django.setup()
    from clients.models import Appointment, Client, PatchTest
    from consult.models import Status, Visit

    def visit(status: str) -> int:
        found = Visit.objects.filter(status=status).order_by("-opened_at").first()
        return found.pk if found else 0

    client = Client.objects.get(known_as="Maeve")
    shut = Appointment.objects.filter(client__known_as="Khuê").latest("starts_at")
    test = PatchTest.objects.filter(readings__isnull=True).first()
    choosing, bench, closed = visit(Status.CHOICE), visit(Status.BENCH), visit(Status.CLOSED)
    return {
        "imke": {
            "diary": "/day/2026-11-25/",
            "find": "/clients/",
            "client": f"/clients/{client.pk}/",
            "register": "/clients/new/",
            "book": f"/appointments/new/?client={client.pk}&day=2026-11-26&time=10:00",
            "gate-shut": f"/appointments/{shut.pk}/",
            "place-test": f"/clients/{client.pk}/patch-tests/place/",
            "read-test": f"/patch-tests/{test.pk if test else 0}/read/",
            "patch-tests": "/patch-tests/",
        },
        "tomasz": {
            "today": "/today/",
            "visit": f"/visits/{choosing}/",
            "safety": f"/visits/{choosing}/safety/",
            "hair": f"/visits/{choosing}/hair/",
            "choice": f"/visits/{choosing}/choice/",
            "sign": f"/visits/{visit(Status.SIGN)}/sign/",
            "formula": f"/visits/{bench}/formula/",
            "bench": f"/visits/{bench}/bench/",
            "result": f"/visits/{closed}/result/",
            "card": f"/visits/{closed}/card/",
            "lines": "/lines/",
            "workings": "/workings/",
            "chart": "/chart/",
        },
        "brigid": {
            "histories": "/histories/",
            "history": f"/clients/{client.pk}/tones/",
            "salon": "/salon/",
            "policy": "/salon/policy/",
            "devices": "/salon/devices/",
            "own-pin": "/your-pin/",
            "no-network": "/offline/",
            "record-of-changes": "/salon/record-of-changes/",
            "looks": "/looks/",
        },
    }


def seat(browser: Browser, address: str, user: str, size: tuple[int, int], scheme: str) -> Page:
    """Sign someone in at a screen of a given size and colour scheme."""
    from consult.demo.cast import PASSWORD

    context = browser.new_context(
        base_url=address,
        viewport={"width": size[0], "height": size[1]},
        color_scheme=scheme,  # type: ignore[arg-type]
        locale="en-GB",
        timezone_id="Europe/London",
    )
    page = context.new_page()
    page.goto("/sign-in/")
    page.get_by_label("User name").fill(user)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    return page


def photograph(page: Page, path: str, file: Path, *, whole: bool = False) -> int:
    """Take a picture of a page; return its status."""
    response = page.goto(path)
    page.wait_for_load_state("networkidle")
    page.screenshot(path=file, full_page=whole)
    return response.status if response else 0


def main() -> None:
    """Draw the README's pictures, then the contact sheet unless `--readme` is given."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    readme = {"imke": ("diary",), "tomasz": ("choice", "formula"), "brigid": ("history",)}
    with demo_server() as address, sync_playwright() as playwright:
        chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        shown = pages()
        for user, names in readme.items():
            for name in names:
                device = {"choice": "tablet-upright", "formula": "tablet"}.get(name, "desk")
                page = seat(browser, address, user, VIEWPORTS[device], "light")
                status = photograph(page, shown[user][name], PICTURES / f"{name}.png")
                print(f"{status} {name}")
        if "--readme" not in sys.argv:
            contact_sheet(browser, address, shown)
        browser.close()


def contact_sheet(browser: Browser, address: str, shown: dict[str, dict[str, str]]) -> None:
    """Photograph every page in every viewport, light and dark, and write an index."""
    shutil.rmtree(SHEET, ignore_errors=True)
    SHEET.mkdir(parents=True)
    rows = []
    for scheme in ("light", "dark"):
        for device, size in VIEWPORTS.items():
            for user, paths in shown.items():
                page = seat(browser, address, user, size, scheme)
                for name, path in paths.items():
                    file = SHEET / f"{name}-{device}-{scheme}.png"
                    status = photograph(page, path, file, whole=True)
                    rows.append(f'<figure><img src="{file.name}" width="420"><figcaption>')
                    rows.append(f"{status} {name}, {device}, {scheme}</figcaption></figure>")
                page.context.close()
    (SHEET / "index.html").write_text("<!doctype html>" + "\n".join(rows))
    print(f"{SHEET / 'index.html'}")


if __name__ == "__main__":
    main()
