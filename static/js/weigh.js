/*
 * The sheet of a bowl (form[data-weigh]). What is entered is sent, and the server answers what
 * the lines still to come must weigh. The page's own number always wins: an answer to anything
 * older than what the fields hold now is dropped, and asked for again. Fields are never drawn
 * anew, only their values and the parts marked data-part, so a held button stays under its finger.
 */
(function () {
  "use strict";
  const network = window.network;
  if (!network) return;
  const PAUSE = 150; // longer than a held button takes between two steps (stepper.js)
  const states = new WeakMap(); // form -> {entry, timer, isAsking, isDue, isSent}
  let isOurs = false;

  const KEEP = new Set(["once", "version", "csrfmiddlewaretoken"]);

  function stateOf(form) {
    if (!states.has(form))
      states.set(form, { entry: 0, timer: null, isAsking: false, isDue: false });
    return states.get(form);
  }

  function entered(form) {
    const state = stateOf(form);
    state.entry += 1;
    state.isDue = true;
    state.isSent = false;
    form.dataset.state = "asking"; // what the lines still to come show may move
    askSoon(form);
  }

  async function ask(form) {
    const state = stateOf(form);
    if (state.isAsking || !state.isDue || !form.isConnected) return;
    state.isAsking = true;
    state.isDue = false;
    const entry = state.entry;
    document.dispatchEvent(new Event("progress:start"));
    let html = "";
    try {
      const answer = await network.post(form.dataset.weigh, new FormData(form));
      if (answer.ok || answer.status === 422) html = await answer.text();
    } catch {
      state.isDue = true;
      network.later("weigh " + form.id, () => ask(form));
      return;
    } finally {
      state.isAsking = false;
      document.dispatchEvent(new Event("progress:stop"));
    }
    if (state.isSent) return;
    if (state.isDue || state.entry !== entry) {
      state.isDue = true;
      if (!isTyping(form)) askSoon(form);
      return;
    }
    const fresh = new DOMParser().parseFromString(html, "text/html").getElementById(form.id);
    if (fresh) take(form, fresh);
    delete form.dataset.state;
  }

  function askSoon(form) {
    const state = stateOf(form);
    clearTimeout(state.timer);
    state.timer = setTimeout(() => ask(form), PAUSE);
  }

  // Half a number is not sent: leaving its field is when it counts.
  function isTyping(form) {
    const field = document.activeElement;
    return form.contains(field) && field.matches("input:not([type='checkbox'])");
  }

  function take(form, fresh) {
    for (const part of form.querySelectorAll("[data-part]")) {
      const other = fresh.querySelector(`[data-part="${part.dataset.part}"]`);
      if (!other || other.innerHTML === part.innerHTML) continue;
      part.replaceChildren(...other.childNodes);
      if (part.dataset.part.startsWith("errors") && part.firstElementChild) {
        part.closest("details")?.setAttribute("open", "");
      }
    }
    isOurs = true;
    for (const field of fresh.elements) {
      const own = field.name && !KEEP.has(field.name) ? form.elements.namedItem(field.name) : null;
      if (!own) continue;
      for (const name of ["aria-invalid", "aria-describedby"]) {
        if (field.hasAttribute(name)) own.setAttribute(name, field.getAttribute(name));
        else own.removeAttribute(name);
      }
      if (own.type === "checkbox") own.checked = field.checked;
      else if (own.value !== field.value) {
        own.value = field.value;
        own.dispatchEvent(new Event("input", { bubbles: true }));
      }
    }
    isOurs = false;
    const message = fresh.dataset.announce;
    if (message) document.dispatchEvent(new CustomEvent("announce", { detail: { message } }));
  }

  const formOf = (target) => (target.form?.dataset.weigh === undefined ? null : target.form);

  document.addEventListener("input", (event) => {
    const form = !isOurs && formOf(event.target);
    if (form) stateOf(form).entry += 1;
  });
  document.addEventListener("focusout", (event) => {
    const form = formOf(event.target);
    if (form && stateOf(form).isDue) askSoon(form);
  });
  document.addEventListener("change", (event) => {
    const form = !isOurs && formOf(event.target);
    if (!form) return;
    const { name, checked, type } = event.target;
    if (type === "checkbox" && !checked) untick(form, name.replace("in_bowl-", ""));
    entered(form);
  });

  /* Not in the bowl after all: what its field holds is no longer a weight typed over the plan. */
  function untick(form, key) {
    const field = form.elements.namedItem(
      key === "developer" ? "developer_grams" : "poured-" + key,
    );
    const asked = form.elements.namedItem("asked-" + key);
    if (field && asked) asked.value = field.value.replace(",", ".");
  }

  // What is recorded is what the page shows now: no answer may move it any more.
  document.addEventListener(
    "submit",
    (event) => {
      if (event.target.dataset?.weigh === undefined) return;
      const state = stateOf(event.target);
      clearTimeout(state.timer);
      state.isDue = false;
      state.isSent = true;
    },
    true,
  );
})();
