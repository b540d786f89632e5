"""Whether states are told apart where the reader's system gives the colours.

Outside standard: CSS Color Adjustment Level 1, section 3 "Forced Color Modes": surfaces,
shadows and tints go, frames that are transparent come.
"""

from playwright.sync_api import Page

# Pairs that have to look unlike: one in the state and one not, on the page of all parts.
PAIRS = {
    "the path: here and not yet": (
        '.steps [data-state="current"] .steps__step',
        '.steps [data-state="next"] .steps__step',
    ),
    "the path: done and not yet": (
        '.steps [data-state="done"] .steps__mark',
        '.steps [data-state="next"] .steps__mark',
    ),
    "the path: stopped and not yet": (
        '.steps [data-state="stopped"] .steps__mark',
        '.steps [data-state="next"] .steps__mark',
    ),
    "a segment": (
        ".segments__option:has(:checked)",
        ".segments__option:not(:has(:checked))",
    ),
    "a tile": (
        ".radio-cards__option:has(:checked)",
        ".radio-cards__option:not(:has(:checked))",
    ),
    "a place": (
        '.curve__places .button[aria-pressed="true"]',
        '.curve__places .button[aria-pressed="false"]',
    ),
    "a badge that stops": (".badge--stop", ".badge--plain"),
    "a badge that cautions": (".badge--caution", ".badge--plain"),
    "the main button": (".button--primary", ".button:not([class*='button--'])"),
    "the button that ends": (".button--stop", ".button:not([class*='button--'])"),
    "somebody in the chair": (".diary__block--here", ".diary__block--done"),
}
PLACES = {"where one is": (".nav a[aria-current]", ".nav a:not([aria-current])")}
UNLIKE = """(pairs) => {
  const looks = (one) => {
    const style = getComputedStyle(one);
    return ["borderTop", "borderBottom", "borderLeft", "backgroundColor", "color", "outline"]
      .map((name) => style[name]).join(" | ");
  };
  return Object.entries(pairs).flatMap(([name, selectors]) => {
    const [state, other] = selectors.map((selector) => document.querySelector(selector));
    if (!state || !other) return [`${name}: nothing to compare`];
    return looks(state) === looks(other) ? [`${name}: ${looks(state)}`] : [];
  });
}"""

# What is content keeps its colour; what is drawn stands out from what is behind it.
KEEPS = """() => {
  const found = [];
  const content = ".booth, svg.strand, .head svg, .signature__pad";
  for (const one of document.querySelectorAll(content)) {
    // What lies in a closed <details> is styled when it opens.
    if (!one.checkVisibility({ contentVisibilityAuto: true })) continue;
    if (getComputedStyle(one).forcedColorAdjust !== "none") {
      found.push(`loses its colour: ${one.outerHTML.slice(0, 80)}`);
    }
  }
  const paper = getComputedStyle(document.body).backgroundColor;
  const drawn = [[".progress", "::before", "backgroundColor"], [".timer__fill", null, "fill"],
    [".timer__track", null, "fill"], [".timer__mark", null, "stroke"]];
  for (const [selector, part, name] of drawn) {
    for (const one of document.querySelectorAll(selector)) {
      if (getComputedStyle(one, part)[name] === paper) found.push(`not seen: ${selector}`);
    }
  }
  return found;
}"""
FOCUS = """() => {
  const found = [];
  const all = "main :is(a[href], button, input:not([type=hidden]), select, textarea, summary)";
  for (const one of document.querySelectorAll(all)) {
    if (!one.checkVisibility({ visibilityProperty: true }) || one.disabled) continue;
    one.focus({ preventScroll: true, focusVisible: true });
    if (document.activeElement !== one) continue;
    const shown = [one, one.parentElement, ...(one.labels || [])].some((part) =>
      [null, "::after"].some((extra) => {
        const style = getComputedStyle(part, extra);
        return style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2
          && style.outlineColor !== getComputedStyle(document.body).backgroundColor;
      }));
    if (!shown) found.push(`no focus: ${one.outerHTML.slice(0, 110)}`);
  }
  document.activeElement.blur();
  return found;
}"""


def indistinct(page: Page) -> list[str]:
    """Return what is lost in forced colours on any page; states, on the page of all parts."""
    page.emulate_media(forced_colors="active", contrast="more")
    assert page.evaluate("matchMedia('(forced-colors: active)').matches")
    found = page.evaluate(KEEPS) + page.evaluate(FOCUS)
    for address, pairs in (("/components/", PAIRS), ("/day/", PLACES)):
        if address in page.url:
            found += page.evaluate(UNLIKE, pairs)
    page.emulate_media(forced_colors="none", contrast="no-preference")
    return [f"forced colours: {one}" for one in found]


def faint(page: Page) -> list[str]:
    """Return which themes stay as they are for somebody who asks for more contrast."""
    page.emulate_media(contrast="more")
    found = []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        soft, ink = page.evaluate(
            """() => ["--ink-soft", "--ink"].map((name) =>
                 getComputedStyle(document.documentElement).getPropertyValue(name))"""
        )
        if soft != ink:
            found.append(f"more contrast, {scheme}: soft text is {soft}, text {ink}")
    page.emulate_media(contrast="no-preference", color_scheme="light")
    return found
