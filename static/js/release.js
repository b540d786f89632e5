/*
 * A newer release has been put in place. Whatever a page asks for by script answers with the
 * release's name. A page of an older one is loaded again once nothing would be lost by it: no
 * field differs from how it came, nothing is open, chosen, drawn or refused. Until then it says
 * so once. Each release is tried once: while two of them answer in turn, no page goes round.
 */
(function () {
  "use strict";
  const meta = document.querySelector("meta[name='release']");
  if (!meta) return;
  const KEY = "release";
  let isAnnounced = false;

  function tried(release) {
    try {
      if (sessionStorage.getItem(KEY) === release) return true;
      sessionStorage.setItem(KEY, release);
      return false;
    } catch {
      return true; // nothing is kept here: it could go round for ever
    }
  }

  function differs(control) {
    if (control.type === "file") return control.files.length > 0;
    if (control.type === "checkbox" || control.type === "radio")
      return control.checked !== control.defaultChecked;
    if (control.options)
      return [...control.options].some((option) => {
        return option.selected !== option.defaultSelected && option.index > 0;
      });
    return control.type !== "hidden" && control.value !== control.defaultValue;
  }

  function isInUse() {
    const main = document.getElementById("main");
    if (document.querySelector("dialog[open], [aria-invalid='true'], canvas")) return true;
    if (main.contains(document.activeElement) && document.activeElement.matches("input, textarea"))
      return true;
    return [...main.querySelectorAll("input, select, textarea")].some(differs);
  }

  function heard(release) {
    if (!release || release === meta.content) return;
    if (isInUse()) {
      if (!isAnnounced)
        document.dispatchEvent(
          new CustomEvent("toast", { detail: { message: meta.dataset.words } }),
        );
      isAnnounced = true;
      return;
    }
    if (!tried(release)) location.assign(location.pathname + location.search);
  }

  document.addEventListener("htmx:afterRequest", (event) => {
    heard(event.detail.xhr?.getResponseHeader("X-Release"));
  });
  window.release = { heard };
})();
