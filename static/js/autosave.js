/*
 * What is typed into a form with data-autosave="part" is kept: on the server after a pause, and
 * until the server has it also on this device, locked (vault.js). A page that opens offers back
 * what was not saved. A signature and the tick of having understood are never kept: they are
 * given to what was read at that moment, and must not be laid under anything else.
 */
(function () {
  "use strict";
  const network = window.network;
  if (!network?.strip().dataset.drafts) return; // a page that keeps nothing: the client's signature, an ended visit
  const PAUSE = 800;
  const LOCAL_PAUSE = 200;
  const NEVER = new Set([
    "csrfmiddlewaretoken",
    "once",
    "version",
    "password",
    "pin",
    "signature_strokes",
    "signature_png",
    "has_understood",
  ]);
  const states = new Map(); // part -> {form, first, kept, timer, localTimer, flight, once}
  const carried = new Map(); // part -> what is typed into it, while the page is drawn anew

  const find = () => document.querySelectorAll("#main form[data-autosave]");
  const nameOf = (form) =>
    [network.strip().dataset.visit, network.strip().dataset.step, form.dataset.autosave].join("/");
  const versionOf = (form) => form.elements.namedItem("version");

  function pairs(form) {
    return [...new FormData(form)].filter(
      ([name, value]) => typeof value === "string" && !NEVER.has(name),
    );
  }

  function mount(form) {
    const before = states.get(form.dataset.autosave);
    if (before?.form === form) return;
    const text = JSON.stringify(pairs(form));
    if (before) {
      before.form = form; // drawn anew by the server: what was typed is still not saved
      const typed = carried.get(form.dataset.autosave);
      carried.delete(form.dataset.autosave);
      if (typed) apply(form, typed);
      changed(form);
    } else states.set(form.dataset.autosave, { form, first: text, kept: text });
  }

  function changed(form) {
    const state = states.get(form.dataset.autosave);
    if (!state) return;
    clearTimeout(state.timer);
    clearTimeout(state.localTimer);
    if (JSON.stringify(pairs(form)) === state.kept) return;
    state.localTimer = setTimeout(() => keep(form), LOCAL_PAUSE);
    state.timer = setTimeout(() => save(form), PAUSE);
  }

  function keep(form, more = {}) {
    if (form.dataset.autosave === undefined) return;
    const once = form.elements.namedItem("once")?.value;
    const version = Number(versionOf(form)?.value);
    return window.vault?.put(nameOf(form), {
      fields: pairs(form),
      at: Date.now(),
      version,
      once,
      ...more,
    });
  }

  function save(form, options) {
    const state = states.get(form.dataset.autosave);
    if (!state) return Promise.resolve(); // sent meanwhile
    clearTimeout(state.timer);
    const text = JSON.stringify(pairs(form));
    if (text === state.kept) return Promise.resolve();
    if (state.flight) return state.flight.then(() => save(form, options));
    state.flight = write(form, state, text, options).finally(() => {
      state.flight = null;
    });
    return state.flight;
  }

  async function write(form, state, text, options) {
    const { drafts, step } = network.strip().dataset;
    const values = {
      step,
      part: form.dataset.autosave,
      version: versionOf(form)?.value || "0",
      fields: text,
    };
    network.set("saving");
    try {
      const answer = await network.post(drafts, values, options);
      const told = answer.headers.get("Content-Type")?.includes("json") ? await answer.json() : {};
      if (told.at && answer.ok) network.set("kept", told.at);
      else if (told.changes) conflict(told);
      else network.set("failed", told.ended || String(answer.status));
      if (!told.at) return;
      state.kept = text;
      if (JSON.stringify(pairs(form)) === text) window.vault?.remove(nameOf(form));
    } catch {
      network.later("draft " + form.dataset.autosave, () =>
        save(states.get(form.dataset.autosave)?.form || form),
      );
    } finally {
      network.set("saving", null);
    }
  }

  function conflict(told) {
    network.latest = told.version;
    network.set("conflict", told.changes);
  }

  // Someone decides to go on: the form now stands on what the other has saved.
  function goOn() {
    network.strip().dataset.version = network.latest;
    network.set("conflict", null);
    for (const form of document.querySelectorAll("#main form")) {
      if (versionOf(form)) versionOf(form).value = network.latest;
    }
    for (const state of states.values()) {
      if (state.kept !== state.first) state.kept = null;
      save(state.form);
    }
  }

  function apply(form, fields) {
    const left = new Map();
    for (const [name, value] of fields) left.set(name, [...(left.get(name) || []), value]);
    const touched = [];
    for (const control of form.elements) {
      if (
        !control.name ||
        NEVER.has(control.name) ||
        ["file", "submit", "button"].includes(control.type)
      )
        continue;
      const values = left.get(control.name) || [];
      if (control.type === "checkbox" || control.type === "radio") {
        const on = values.includes(control.value);
        if (on !== control.checked) touched.push(control);
        control.checked = on;
      } else if (values.length) {
        const value = values.shift();
        if (value !== control.value) touched.push(control);
        control.value = value;
      }
    }
    for (const control of touched) {
      control.closest("details")?.setAttribute("open", "");
      control.dispatchEvent(new Event("input", { bubbles: true }));
    }
    form.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function restore(form, draft) {
    if (
      draft.version &&
      versionOf(form) &&
      !draft.own &&
      Number(versionOf(form).value) !== draft.version
    ) {
      versionOf(form).value = draft.version; // saving it tells what changed since
    }
    if (draft.once && form.elements.namedItem("once"))
      form.elements.namedItem("once").value = draft.once;
    apply(form, draft.fields);
  }

  function offer(form, draft, kind) {
    const words = document.getElementById("draft-offer");
    if (!words) return; // the client's own page: the place is simply back
    const box = words.content.firstElementChild.cloneNode(true);
    for (const part of box.querySelectorAll("[data-kind]"))
      part.hidden = part.dataset.kind !== kind;
    for (const time of box.querySelectorAll("[data-at]")) time.textContent = draft.at;
    const since = box.querySelector("[data-since]");
    since.hidden = !draft.changes?.length;
    for (const sentence of draft.changes || []) {
      const item = document.createElement("li");
      item.textContent = sentence;
      since.querySelector("ul").append(item);
    }
    box.addEventListener("click", async (event) => {
      if (event.target.closest("[data-bring-back]")) {
        restore(form, draft);
        (form.querySelector("input:not([type='hidden']), textarea") || form).focus();
      } else if (event.target.closest("[data-discard]")) {
        if (kind !== "offered") done(form); // what stands in the form goes with the page
        await discard(form);
        if (kind !== "offered") return network.leave();
        (form.querySelector("input:not([type='hidden']), textarea") || form).focus();
      } else return;
      box.remove();
    });
    form.prepend(box);
    form.closest("details")?.setAttribute("open", ""); // in a fold nobody would find it
    const title = box.querySelector(".alert__title:not([hidden])").textContent;
    document.dispatchEvent(new CustomEvent("announce", { detail: { message: title } }));
    if (!form.contains(document.activeElement)) box.scrollIntoView({ block: "nearest" });
  }

  async function discard(form) {
    window.vault?.remove(nameOf(form));
    const { drop, step } = network.strip().dataset;
    await network.post(drop, { step, part: form.dataset.autosave }).catch(() => {});
  }

  async function begin() {
    const forms = [...find()];
    forms.forEach(mount);
    const kept = new Map();
    for (const form of forms) kept.set(form, await window.vault?.get(nameOf(form)));
    const waiting = [...kept.values()].find((local) => local?.held);
    const old = [...kept.values()].find(Boolean);
    const asked = {
      first: "on",
      sent: waiting?.once || "",
      ...(old ? { version: old.version } : {}),
    };
    const told = await window.presence?.tell(asked).catch(() => null);
    point(told?.drafts);
    for (const form of forms) {
      const draft = told?.drafts?.find((one) => one.part === form.dataset.autosave);
      const local = kept.get(form);
      const state = states.get(form.dataset.autosave);
      if (!state) continue; // sent while the answer was on its way
      const isHere = local && !local.held && JSON.stringify(local.fields) === state.first;
      if (isHere || (local?.held && told?.arrived)) {
        window.vault.remove(nameOf(form));
        continue;
      }
      const isUntouched = JSON.stringify(pairs(form)) === state.first;
      if (!local && state.kept !== state.first) continue; // this page's own draft, not an older one
      if (local) {
        const here = {
          ...local,
          at: new Date(local.at).toLocaleTimeString(document.documentElement.lang, {
            timeStyle: "short",
          }),
        };
        const isCurrent = local.version === Number(versionOf(form)?.value);
        if (isUntouched && isCurrent) restore(form, here);
        if (isUntouched && isCurrent) offer(form, here, local.held ? "held" : "local");
        else offer(form, { ...here, changes: told?.changes, own: told?.own }, "offered");
      } else if (draft && JSON.stringify(draft.fields) !== state.first)
        offer(form, draft, "offered");
    }
  }

  // A mix of one's own whose editor is shut: say where it is.
  function point(drafts) {
    const place = network.strip().querySelector("[data-open]");
    const shut = drafts?.find((one) => !states.has(one.part));
    if (!place || !shut) return;
    place.querySelector("a").href = "?zones=" + encodeURIComponent(shut.part) + "#editor";
    place.hidden = false;
  }

  // What was pressed and taken back is again no more than typed.
  function again(form) {
    if (form.dataset.autosave === undefined) return;
    window.vault?.remove(nameOf(form));
    changed(form);
  }

  function settle(form) {
    const state = states.get(form.dataset.autosave);
    if (!state) return;
    clearTimeout(state.timer);
    clearTimeout(state.localTimer);
    return state.flight?.catch(() => {});
  }

  // One form of a page was refused and the server draws them all: the others keep their words.
  function carry(sent) {
    for (const [part, state] of states) {
      const typed = pairs(state.form);
      if (state.form !== sent && JSON.stringify(typed) !== state.first) carried.set(part, typed);
    }
  }

  // One form of a page goes: what stands in the others is kept first, on the version it has.
  function saveOthers(sent) {
    for (const state of states.values()) {
      if (state.form !== sent) save(state.form, { keepalive: true });
    }
  }

  function done(form) {
    if (form.dataset.autosave === undefined) return;
    states.delete(form.dataset.autosave);
    network.forget("draft " + form.dataset.autosave);
    window.vault?.remove(nameOf(form));
  }

  for (const kind of ["input", "change"]) {
    document.addEventListener(kind, (event) => {
      if (kind === "input" && event.target.type === "range") return; // on its way: change follows
      const form = event.target.form || event.target.closest?.("form");
      if (form?.dataset.autosave !== undefined) changed(form);
    });
  }
  document.addEventListener("htmx:load", () => find().forEach(mount));
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) return;
    for (const state of states.values()) save(state.form, { keepalive: true });
  });
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-go-on]")) goOn();
    if (event.target.closest("[data-see-now]")) network.leave();
  });

  window.autosave = { keep, again, settle, carry, saveOthers, done };
  document.addEventListener("DOMContentLoaded", begin);
})();
