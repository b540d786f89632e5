"""Measure how fast the choice follows a finger: `python -m tests.measure_drag ADDRESS VISIT`.

A running salon (`make demo`) is driven in Chromium with the processor slowed down four times.
For each move of a drag it takes the time from the event to the next painted frame, and the
processor time that the page's own thread spent on it; for the server, the time of the choice
page and of a changed formula's prediction. Bars: 30 frames a second, so 33 ms for a move on the
tablet; 300 ms where the server computes. It prints; it asserts nothing. What a move may do at
all is counted by tests/browser/test_drag.py.
"""

import argparse
import shutil
import statistics
import time
from collections.abc import Sequence

from playwright.sync_api import CDPSession, Page, sync_playwright

SLOWER, MOVES = 4, 120
FRAME_MS = 1000 / 30
WATCH = """
() => {
  window.moves = [];
  document.getElementById('head-aim').addEventListener('input', () => {
    const from = performance.now();
    requestAnimationFrame(() => {
      const channel = new MessageChannel();
      channel.port1.onmessage = () => window.moves.push(performance.now() - from);
      channel.port2.postMessage(0);
    });
  }, { capture: true });
}
"""

FORETELL = """
async (address) => {
  const times = [];
  for (let n = 0; n < 12; n += 1) {
    const body = new FormData(document.getElementById('editor'));
    const from = performance.now();
    await (await fetch(address, { method: 'POST', body })).text();
    times.push(performance.now() - from);
  }
  return times;
}
"""


def told(name: str, times: Sequence[float]) -> str:
    """Return one line: median, the slowest of twenty, the slowest."""
    ordered = sorted(times)
    p95 = ordered[min(len(ordered) - 1, round(0.95 * len(ordered)))]
    return (
        f"{name:34}{len(ordered):5} times   median {statistics.median(ordered):6.1f} ms   "
        f"p95 {p95:6.1f} ms   slowest {ordered[-1]:6.1f} ms"
    )


def drag(page: Page) -> list[float]:
    """Drag the head's control to and fro; return each move's time to the painted frame."""
    page.evaluate(WATCH)
    slider = page.locator("#head-aim")
    slider.evaluate("slider => slider.scrollIntoView({ block: 'center' })")
    box = slider.bounding_box()
    assert box
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] / 2, middle)
    page.mouse.down()
    for step in range(MOVES):
        share = 0.5 + 0.35 * (1 if step % 60 < 30 else -1) * (step % 30) / 30
        page.mouse.move(box["x"] + box["width"] * share, middle)
    page.mouse.up()
    page.wait_for_timeout(300)
    return list(page.evaluate("window.moves"))


def judged(times: Sequence[float]) -> str:
    """Return whether the middle move keeps thirty frames a second, and how many do."""
    median = statistics.median(times)
    kept = sum(time <= FRAME_MS for time in times) / len(times)
    word = "kept" if median <= FRAME_MS else "MISSED"
    return f"30 frames a second ({FRAME_MS:.0f} ms): {word}; {kept:.0%} of the moves within"


def processor_ms(devtools: CDPSession) -> float:
    """Return the processor time of the page's thread so far, whatever else the machine does."""
    metrics = devtools.send("Performance.getMetrics")["metrics"]
    return 1000 * next(float(one["value"]) for one in metrics if one["name"] == "TaskDuration")


def server(page: Page, path: str, times: int = 12) -> list[float]:
    """Return how long the server takes for a page, network on the same machine included."""
    taken = []
    for _n in range(times):
        start = time.perf_counter()
        response = page.request.get(path)
        taken.append((time.perf_counter() - start) * 1000)
        assert response.ok, response.status
    return taken


def predictions(page: Page, visit: int) -> list[float]:
    """Return how long the server takes to foretell a changed mix; nothing before that step."""
    page.goto(f"/visits/{visit}/formula/")
    for closed in page.locator("details:not([open]) > summary").all():
        if closed.is_visible():
            closed.click()
    change = page.locator("a[href*='source=changed']")
    if not change.count():
        return []
    page.goto(f"/visits/{visit}/formula/{change.first.get_attribute('href')}")
    return list(page.evaluate(FORETELL, f"/visits/{visit}/formula/prediction/"))


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("address")
    given.add_argument("visit", type=int, help="a visit at the choice or later")
    given.add_argument("--user", default="brigid")
    given.add_argument("--password", default="saltgrass-demo")
    how = given.parse_args()
    with sync_playwright() as play:
        chromium = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        context = chromium.new_context(
            base_url=how.address, viewport={"width": 1024, "height": 768}, locale="en-GB"
        )
        page = context.new_page()
        page.goto("/sign-in/")
        page.get_by_label("User name").fill(how.user)
        page.get_by_label("Password").fill(how.password)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_load_state()
        path = f"/visits/{how.visit}/choice/"
        page.goto(path)
        slow = context.new_cdp_session(page)
        slow.send("Performance.enable", {"timeDomain": "threadTicks"})
        before = processor_ms(slow)
        moves = len(drag(page))
        spent = SLOWER * (processor_ms(slow) - before) / moves
        print(f"a move, processor time times {SLOWER}: {spent:.1f} ms of {FRAME_MS:.0f}")
        page.goto(path)
        slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        times = drag(page)
        print(told(f"a move, processor {SLOWER} times slower", times))
        print(judged(times))
        slow.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        print(told("the choice page, server", server(page, path)))
        side = predictions(page, how.visit)
        if side:
            print(told("a changed mix side, server", side))
        chromium.close()


if __name__ == "__main__":
    main()
