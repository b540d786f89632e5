/*
 * What is typed into a form of the desk is kept for the person who types it, so that a lock, a
 * new sign-in or a wrong turn costs nothing: form[data-desk-draft] holds the address that keeps
 * it. The server draws the form with it when the same page is opened again.
 */
(function () {
  "use strict";
  const PAUSE = 400;
  const NEVER = new Set(["csrfmiddlewaretoken", "once"]);
  const form = document.querySelector("form[data-desk-draft]");
  if (!form) return;
  let timer = null;
  let isSent = false;
  let kept = text();

  // A refused form stands in the history as a form to be sent again: Back then leads to its page.
  if (form.dataset.refused !== undefined) history.replaceState(history.state, "", location.href);

  function text() {
    const values = [...new FormData(form)].filter(
      ([name, value]) => typeof value === "string" && !NEVER.has(name),
    );
    return JSON.stringify(values);
  }

  function save(keepalive = false) {
    clearTimeout(timer);
    const now = text();
    if (isSent || now === kept || window.lock?.isShut()) return;
    kept = now;
    const once = form.elements.namedItem("once")?.value || "";
    const body = new URLSearchParams({ address: form.dataset.address, fields_json: now, once });
    const token = form.elements.namedItem("csrfmiddlewaretoken").value;
    body.set("csrfmiddlewaretoken", token);
    fetch(form.dataset.deskDraft, {
      method: "POST",
      body,
      keepalive,
      headers: { ...window.lock?.headers() },
    })
      .then((answer) => {
        if (!answer.ok || answer.redirected) kept = ""; // locked or signed out: once more at the next key
      })
      .catch(() => {
        kept = "";
      });
  }

  for (const kind of ["input", "change"]) {
    form.addEventListener(kind, () => {
      clearTimeout(timer);
      timer = setTimeout(save, PAUSE);
    });
  }
  // The answer to the form removes what was kept; until it has arrived, nothing is lost.
  form.addEventListener("submit", () => {
    save(true);
    isSent = true;
  });
  window.addEventListener("pagehide", () => save(true));
  window.addEventListener("pageshow", () => {
    isSent = false;
  });
  document.addEventListener("sitting-opened", () => save());
})();
