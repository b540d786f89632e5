/*
 * A form of a visit is sent by this script, so that a lost network costs nothing: the page
 * stays, says that it waits, and sends it once the network is back. The form's own key
 * (`once`) makes a repeat harmless where only the answer was lost.
 */
(function () {
  "use strict";
  const network = window.network;
  if (!network) return;
  const PATIENCE = 4000;
  let held = null; // {form, button, pressedAt, submitter}

  function busy(on) {
    document.dispatchEvent(new Event(on ? "progress:start" : "progress:stop"));
    if (on) held.submitter?.setAttribute("aria-busy", "true");
    else held.submitter?.removeAttribute("aria-busy");
  }

  function body() {
    const { form, submitter, pressedAt } = held;
    const values = new FormData(form, submitter?.form === form ? submitter : null);
    if (form.dataset.autosave !== undefined) {
      values.set("draft_step", network.strip().dataset.step);
      values.set("draft_part", form.dataset.autosave);
    }
    const seconds = Math.round((performance.now() - pressedAt) / 1000);
    if (seconds > 0) values.set("held_seconds", String(seconds));
    return values;
  }

  async function attempt() {
    const mine = held;
    if (!mine) return;
    const { form } = mine;
    const url = new URL(form.getAttribute("action") || location.href, location.href);
    url.hash = "";
    const slow = setTimeout(() => network.set("held"), PATIENCE);
    let answer;
    try {
      answer = await network.post(url, body());
    } catch {
      if (held === mine) hold();
      return;
    } finally {
      clearTimeout(slow);
    }
    if (held === mine) await take(answer);
  }

  // What is sent is what was pressed: nothing is typed into it while it waits.
  function hold() {
    const { form } = held;
    const isFirst = !form.inert;
    network.set("held");
    form.inert = true;
    if (isFirst) {
      window.autosave?.keep(form, { held: true });
      if (!document.activeElement || document.activeElement === document.body)
        network.strip().focus();
    }
    network.later("send", attempt);
  }

  async function take(answer) {
    const { form } = held;
    const to = answer.headers.get("X-Location") || answer.headers.get("HX-Redirect");
    if (to) {
      window.autosave?.done(form);
      held = null;
      network.set("held", null);
      network.leave(to);
      return;
    }
    release();
    if (answer.ok || answer.status === 422 || answer.status === 409) {
      const html = await answer.text();
      window.autosave?.carry(form);
      window.scrollTo(0, 0);
      window.htmx.swap("#main", html, { swapStyle: "outerHTML" }, { select: "#main" });
    } else network.set("failed", String(answer.status));
  }

  function release() {
    held.form.inert = false;
    busy(false);
    held = null;
    network.set("held", null);
  }

  function newKey() {
    const random = crypto.getRandomValues(new Uint8Array(16));
    return [...random].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  document.addEventListener(
    "submit",
    async (event) => {
      const form = event.target;
      // A field of the form may be called "method", so the attribute is asked.
      if (
        form.getAttribute("method") !== "post" ||
        !form.closest("#main") ||
        form.matches("[hx-post], [data-plain], [data-photo-take]")
      )
        return;
      event.preventDefault();
      if (held) return;
      held = { form, submitter: event.submitter, pressedAt: performance.now() };
      network.set("failed", null);
      busy(true);
      await window.autosave?.settle(form);
      window.autosave?.saveOthers(form);
      attempt();
    },
    true,
  );

  document.addEventListener("click", (event) => {
    if (!event.target.closest("[data-take-back]") || !held) return;
    const { form, submitter } = held;
    network.forget("send");
    release();
    window.autosave?.again(form);
    // Should it have arrived after all, the next one is a new form: the server then says so.
    const key = form.elements.namedItem("once");
    if (key) key.value = newKey();
    (submitter || form.querySelector("input, button"))?.focus();
  });

  window.addEventListener("beforeunload", (event) => {
    if (held && !network.isLeaving()) event.preventDefault();
  });
})();
