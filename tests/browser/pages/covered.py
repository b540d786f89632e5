"""Whether what has the focus is seen, above the bars that stay and a keyboard on the screen.

Outside standards: WCAG 2.2, success criteria 2.4.11 and 2.4.12 Focus Not Obscured.
"""

from collections.abc import Iterator

from playwright.sync_api import Page, ViewportSize

LYING: ViewportSize = {"width": 1024, "height": 768}
TYPING: ViewportSize = {"width": 1024, "height": 400}  # the same with the keyboard up

# Each control takes the focus in turn; its corners and its middle are looked up in the window.
COVERED = """() => {
  const describe = (one) => one.outerHTML.slice(0, 110).replace(/\\s+/g, " ");
  const shown = (one) =>
    one.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true });
  const stays = (one, below) => {
    for (let at = one; at; at = at.parentElement) {
      if (at.contains(below)) return null;
      if (["sticky", "fixed"].includes(getComputedStyle(at).position)) return at;
    }
    return null;
  };
  const found = [];
  const all = "main :is(a[href], button, input:not([type=hidden]), select, textarea, summary)";
  for (const one of document.querySelectorAll(all)) {
    if (!shown(one) || one.disabled || one.closest("[inert]")) continue;
    one.focus();
    if (document.activeElement !== one) continue;
    const box = one.getBoundingClientRect();
    const tall = box.height > innerHeight - 120;
    for (const [x, y] of [[box.left + 2, box.top + 2], [box.right - 2, box.top + 2],
        [box.left + 2, box.bottom - 2], [box.right - 2, box.bottom - 2],
        [box.left + box.width / 2, box.top + box.height / 2]]) {
      const hit = document.elementFromPoint(x, y);
      const bar = hit && stays(hit, one);
      if (bar) found.push(`under ${describe(bar).slice(0, 40)}: ${describe(one)}`);
      else if (!hit && !tall) found.push(`out of the window: ${describe(one)}`);
      if (bar || (!hit && !tall)) break;
    }
  }
  document.activeElement.blur();
  return found;
}"""


def covered(page: Page) -> Iterator[str]:
    """Yield what is covered while it has the focus, lying and while one types."""
    for size in (LYING, TYPING):
        page.set_viewport_size(size)
        yield from (f"{size['height']} px high, {one}" for one in page.evaluate(COVERED))
    page.set_viewport_size(LYING)
