"""`python -m tests.icons`: draw the home screen's icons anew from static/img/icon.svg.

The strands stand inside the middle four fifths, which a round mask leaves, so one drawing
serves the plain and the maskable icon alike; only the sizes differ.
"""

import os
import shutil
from pathlib import Path

from playwright.sync_api import sync_playwright

IMG = Path(__file__).resolve().parent.parent / "static" / "img"
SIZES = {
    "icon-192.png": 192,
    "icon-512.png": 512,
    "icon-maskable-512.png": 512,
    "apple-touch-icon.png": 180,
}


def draw() -> None:
    """Let Chromium draw the SVG at each size."""
    svg = (IMG / "icon.svg").read_text()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=os.environ.get("CHROMIUM") or shutil.which("chromium"),
            args=["--no-sandbox"],
        )
        for name, size in SIZES.items():
            page = browser.new_page(viewport={"width": size, "height": size})
            page.set_content(f"<body style='margin:0;display:grid'>{svg}</body>")
            page.screenshot(path=IMG / name)
            page.close()
        browser.close()


if __name__ == "__main__":
    draw()
