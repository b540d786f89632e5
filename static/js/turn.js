/* Turn the page upside down for someone who sits opposite, and back. */
(function () {
  "use strict";
  const key = "turned";
  if (!document.querySelector("[data-turn]")) return;

  // The pad stays upright under the finger; the strokes are turned when they are saved.
  function show(turned) {
    for (const field of document.querySelectorAll("[data-turned]")) {
      field.value = turned ? "1" : "";
    }
    document.documentElement.classList.toggle("is-turned", turned);
    document.querySelector("[data-turn]")?.setAttribute("aria-pressed", String(turned));
  }

  let turned = false;

  function toTheHeading() {
    window.scrollTo(0, turned ? document.documentElement.scrollHeight : 0);
  }

  try {
    turned = sessionStorage.getItem(key) === "yes";
  } catch {
    /* storage may be shut: then each page starts upright */
  }
  show(turned);
  // A refused form draws the page anew: it stays turned, and its fields have to know.
  document.addEventListener("htmx:load", () => show(turned));
  document.addEventListener("click", (event) => {
    if (!event.target.closest("[data-turn]")) return;
    turned = !turned;
    document.querySelector("[data-clear]:not(:disabled)")?.click();
    show(turned);
    try {
      sessionStorage.setItem(key, turned ? "yes" : "no");
    } catch {
      /* as above */
    }
    toTheHeading();
  });
  if (turned) window.addEventListener("load", toTheHeading);
})();
