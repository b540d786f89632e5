/* Turn the page upside down for someone who sits opposite, and back. */
(function () {
  "use strict";
  const key = "turned";
  const button = document.querySelector("[data-turn]");
  if (!button) return;

  // The pad stays upright under the finger; the strokes are turned when they are saved.
  function show(turned) {
    for (const field of document.querySelectorAll("[data-turned]")) {
      field.value = turned ? "1" : "";
    }
    document.documentElement.classList.toggle("is-turned", turned);
    button.setAttribute("aria-pressed", String(turned));
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
  button.addEventListener("click", () => {
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
