"""How a page stands in narrow, turned, mirrored and enlarged windows, and what a finger hits.

Outside standards: WCAG 2.2, success criteria 1.4.4 Resize Text, 1.4.10 Reflow and
2.5.5 Target Size (Enhanced).
"""

from collections.abc import Iterator

from playwright.sync_api import Page

LYING, UPRIGHT = (1024, 768), (768, 1024)
ZOOMED, PHONE = (640, 400), (320, 256)  # 1280 x 800 at 200 %, 1280 x 1024 at 400 %

# How far the page runs out sideways and what makes it; what scrolls in a box of its own has to
# be reached with the keyboard and to have a name. Then words that their button cuts off.
MEASURES = """
  const describe = (one) => one.outerHTML.slice(0, 110).replace(/\\s+/g, " ");
  const shown = (one) =>
    one.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true });
  const moves = (one) => ["auto", "scroll"].includes(getComputedStyle(one).overflowX);
  const sideways = () => {
    const root = document.documentElement, found = [];
    const boxes = [...document.querySelectorAll("main *, header *")].filter((one) =>
      one.scrollWidth > one.clientWidth + 1 && one.clientWidth && moves(one) && shown(one));
    const over = root.scrollWidth - innerWidth;
    if (over > 0) {
      const wide = [...document.querySelectorAll("body *")].filter((one) => {
        const box = one.getBoundingClientRect();
        return box.width && shown(one) && (box.right > innerWidth + 0.5 || box.left < -0.5)
          && !boxes.some((outer) => outer !== one && outer.contains(one));
      });
      const last = wide.filter((one) =>
        !wide.some((inner) => inner !== one && one.contains(inner)));
      found.push(`${over} px too wide: ${last.slice(0, 2).map(describe)}`);
    }
    for (const box of boxes) {
      if (/^(INPUT|TEXTAREA|SELECT)$/.test(box.tagName)) continue;
      const inside = [...box.querySelectorAll("a[href], button, input")]
        .some((one) => one.tabIndex >= 0);
      const named = box.getAttribute("aria-label") || box.getAttribute("aria-labelledby");
      if (!inside && (box.tabIndex < 0 || !named)) {
        found.push(`scrolls without a name: ${describe(box)}`);
      }
    }
    return found;
  };
  const mirrored = () => {
    const root = document.documentElement, way = root.dir;
    root.dir = "rtl";
    const found = sideways().map((one) => `mirrored: ${one}`);
    root.dir = way;
    return found;
  };
  const words = "button, a.button, summary, .segments__option, .badge";
  const cut = () => [...document.querySelectorAll(words)]
    .filter((one) => shown(one) && one.clientWidth && !one.closest(".visually-hidden")
      && one.scrollWidth > one.clientWidth + 1)
    .map((one) => `cut off: ${describe(one)}`);
  const enlarged = () => {
    const root = document.documentElement;
    root.style.fontSize = "200%";
    return [...sideways(), ...cut()].map((one) => `letters at 200 %: ${one}`);
  };
"""

# A target is the control with its labels and with what its ::after adds; a link in a line of
# words is as high as the line (the exception "inline").
SMALL = """(least) => {
  const controls = "a[href], button, input:not([type=hidden]), select, textarea, summary";
  const shown = (one) =>
    one.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true });
  const inline = (one) => {
    if (one.tagName !== "A" && one.tagName !== "SUMMARY") return false;
    const outer = one.tagName === "SUMMARY" ? one.parentElement : one;
    if (!/^inline/.test(getComputedStyle(outer).display)) return false;
    const line = outer.parentElement.closest("p, li, dd, dt, td, th, figcaption, label, div");
    const own = outer.textContent.trim().length;
    return line && line.textContent.replace(/\\s+/g, " ").trim().length > own + 2
      && getComputedStyle(line).display !== "flex" && getComputedStyle(line).display !== "grid";
  };
  const area = (one) => {
    const boxes = [one, ...(one.labels || [])].filter(shown)
      .map((part) => part.getBoundingClientRect());
    const after = getComputedStyle(one, "::after");
    if (after.content !== "none" && after.position === "absolute") {
      let holder = one;
      while (holder && getComputedStyle(holder).position === "static") {
        holder = holder.parentElement;
      }
      const box = (holder || document.body).getBoundingClientRect();
      const grown = (side) => Math.max(0, -parseFloat(after[side]) || 0);
      boxes.push(new DOMRect(box.x - grown("left"), box.y - grown("top"),
        box.width + grown("left") + grown("right"),
        box.height + grown("top") + grown("bottom")));
    }
    const left = Math.min(...boxes.map((box) => box.left));
    const top = Math.min(...boxes.map((box) => box.top));
    return [Math.max(...boxes.map((box) => box.right)) - left,
            Math.max(...boxes.map((box) => box.bottom)) - top];
  };
  return [...document.querySelectorAll(controls)]
    .filter((one) => shown(one) && !one.disabled && !inline(one)
      && !one.closest(".skip, .visually-hidden, [inert]"))
    .map((one) => [one, area(one)])
    .filter(([, [width, height]]) => width < least - 0.5 || height < least - 0.5)
    .map(([one, size]) =>
      size.map(Math.round).join(" x ") + ": " + one.outerHTML.slice(0, 130));
}"""


SHAPES = (
    (LYING, "[...sideways(), ...mirrored()]"),
    (UPRIGHT, "sideways()"),
    (ZOOMED, "[...sideways(), ...cut()]"),
    (PHONE, "[...sideways(), ...mirrored()]"),
    (LYING, "enlarged()"),
)


def small_targets(page: Page, least: int = 44) -> list[str]:
    """Return what a finger may miss."""
    return [f"target {one}" for one in page.evaluate(SMALL, least)]


def shapes(page: Page) -> Iterator[str]:
    """Yield what runs out of the page in each shape; its letters stay enlarged."""
    for (width, height), asked in SHAPES:
        page.set_viewport_size({"width": width, "height": height})
        found = page.evaluate(f"() => {{ {MEASURES} return {asked}; }}")
        yield from (f"{width} px wide: {one}" for one in found)
