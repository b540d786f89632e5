"""Whether anything moves for somebody who asked for no motion.

Outside standard: WCAG 2.2, success criterion 2.3.3 Animation from Interactions. The seat's
browser has to ask: `reduced_motion="reduce"`.
"""

from playwright.sync_api import Page

MOVES = """() => {
  const found = document.getAnimations()
    .filter((one) => one.playState === "running"
      && one.effect.getComputedTiming().endTime > 10)
    .map((one) => `runs: ${one.animationName || one.transitionProperty || one.id}`);
  const longest = (times) => Math.max(...times.split(",").map(parseFloat));
  const seen = new Set(); // of what is of one kind and class, one stands for all
  for (const one of document.querySelectorAll("body, body *")) {
    const kind = `${one.tagName} ${one.getAttribute("class")} ${one.parentElement.className}`;
    if (seen.has(kind)) continue;
    seen.add(kind);
    for (const part of [undefined, "::before", "::after"]) {
      const style = getComputedStyle(one, part);
      if (part && style.content === "none") continue;
      const moves = [style.transitionDuration, style.transitionDelay].map(longest);
      if (style.animationName !== "none") {
        moves.push(...[style.animationDuration, style.animationDelay].map(longest));
      }
      if (Math.max(...moves) > 0.01 || style.scrollBehavior === "smooth") {
        found.push(`would move: ${one.outerHTML.slice(0, 100)} ${part || ""}`);
      }
    }
  }
  return found;
}"""


def moving(page: Page) -> list[str]:
    """Return what runs or would run for longer than a hundredth of a second."""
    assert page.evaluate("matchMedia('(prefers-reduced-motion: reduce)').matches")
    moves: list[str] = page.evaluate(MOVES)
    return moves
