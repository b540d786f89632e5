/* Light, dark, or as the device says; kept on this device, set before the first paint. */
(function () {
  "use strict";
  const key = "theme";
  let kept = "";
  try {
    kept = localStorage.getItem(key) || "";
  } catch {
    /* storage may be shut: then the device decides */
  }
  if (kept) document.documentElement.dataset.theme = kept;

  document.addEventListener("change", (event) => {
    if (!event.target.closest("[data-theme-choice]")) return;
    const theme = event.target.value;
    if (theme) document.documentElement.dataset.theme = theme;
    else delete document.documentElement.dataset.theme;
    try {
      localStorage.setItem(key, theme);
    } catch {
      /* the choice then lasts for this page */
    }
  });

  document.addEventListener("DOMContentLoaded", () => {
    for (const input of document.querySelectorAll("[data-theme-choice] input")) {
      input.checked = input.value === kept;
    }
  });
})();
