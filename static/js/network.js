/*
 * Whether the server answers, what still waits for it, and the strip that says so.
 *   network.post(url, values)      a POST that knows a lost network from an answer
 *   network.later(key, again)      call again once the network is back; a key is kept once
 *   network.isRefused(answer)      whether it says that somebody else, or nobody, is signed in
 *   network.set(state, slot)       show a state of the strip (data-when), or hide it with null
 * Sends its own event, network:back, when the server answers again.
 */
(function () {
  "use strict";
  if (!document.getElementById("network")) return;

  // What matters most is shown; the two quiet ones stand in a place that is not read out.
  const ORDER = [
    "someone",
    "signed-out",
    "held",
    "conflict",
    "failed",
    "waiting",
    "saving",
    "kept",
  ];
  const shown = new Map();
  const queue = new Map();
  const gone = new Set([502, 503, 504]);
  let away = navigator.onLine === false;
  let leaving = false;
  let delay = 1000;
  let timer = null;

  const strip = () => document.getElementById("network");

  function render() {
    const top = ORDER.find((state) => shown.has(state));
    for (const part of strip().querySelectorAll("[data-when]")) {
      const on = part.dataset.when === top;
      const slot = part.querySelector("[data-slot]");
      if (on && slot) fill(slot, shown.get(top));
      if (part.hidden === on) part.hidden = !on;
    }
    strip().dataset.state = top || "";
  }

  function fill(slot, words) {
    if (!Array.isArray(words)) {
      if (slot.textContent !== String(words)) slot.textContent = words;
      return;
    }
    if (slot.dataset.told === words.join("\n")) return;
    slot.dataset.told = words.join("\n");
    slot.replaceChildren(
      ...words.map((sentence) => {
        const item = document.createElement("li");
        item.textContent = sentence;
        return item;
      }),
    );
  }

  function set(state, slot) {
    if (slot === null) shown.delete(state);
    else shown.set(state, slot ?? "");
    render();
  }

  function lost() {
    if (leaving) return;
    away = true;
    set("waiting");
  }

  function reached() {
    const was = away;
    away = false;
    delay = 1000;
    set("waiting", null);
    if (!was) return;
    document.dispatchEvent(new Event("network:back"));
    run();
  }

  // Signing in again in another tab changes the token; the cookie has the one that counts.
  function token() {
    const found = document.cookie.match(/(?:^|; )(?:__Host-salon-csrf|csrftoken)=([^;]+)/);
    return found ? found[1] : document.querySelector("[name='csrfmiddlewaretoken']")?.value || "";
  }

  // Whose page this is goes along: the server takes nothing of it under another name.
  function headers() {
    return { "X-CSRFToken": token(), "X-Scripted": "1", "X-Staff": strip().dataset.staff };
  }

  function isRefused(answer) {
    const someone = answer.headers.has("X-Someone-Else");
    const out = (answer.headers.get("X-Location") || "").startsWith(strip().dataset.signIn);
    set("someone", someone ? undefined : null);
    set("signed-out", out ? undefined : null);
    return someone || out;
  }

  async function post(url, values, { seconds = 20, keepalive = false } = {}) {
    if (window.lock?.isShut()) throw new Error("Locked"); // under the cover nothing is asked for
    const body = values instanceof FormData ? values : new URLSearchParams(values);
    if (body.has("csrfmiddlewaretoken")) body.set("csrfmiddlewaretoken", token());
    const options = {
      method: "POST",
      body,
      headers: { ...headers(), ...window.lock?.headers() },
      keepalive,
      signal: AbortSignal.timeout(seconds * 1000),
    };
    let answer;
    try {
      answer = await fetch(url, options);
    } catch (error) {
      lost();
      throw error;
    }
    if (answer.status === 423) {
      document.dispatchEvent(new Event("sitting-locked"));
      throw new Error("Locked");
    }
    if (gone.has(answer.status)) {
      lost();
      throw new Error("The server is away: " + answer.status);
    }
    if (isRefused(answer)) throw new Error("Somebody else is signed in, or nobody");
    reached();
    window.release?.heard(answer.headers.get("X-Release"));
    return answer;
  }

  function later(key, again) {
    queue.set(key, again);
    plan();
  }

  function plan() {
    if (timer !== null) return;
    timer = setTimeout(run, delay);
    delay = Math.min(delay * 2, 20000);
  }

  async function run() {
    clearTimeout(timer);
    timer = null;
    const waiting = [...queue];
    queue.clear();
    for (const [, again] of waiting) await again();
  }

  function now() {
    delay = 1000;
    if (queue.size) run();
  }

  window.addEventListener("online", now);
  document.addEventListener("sitting-opened", now);
  window.addEventListener("offline", lost);
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) now();
  });
  window.addEventListener("pagehide", () => {
    leaving = true;
  });
  window.addEventListener("pageshow", () => {
    leaving = false;
  });
  document.addEventListener("htmx:load", render);
  document.addEventListener("htmx:sendError", (event) => retry(event.detail.elt));
  document.addEventListener("htmx:timeout", (event) => retry(event.detail.elt));
  document.addEventListener("htmx:configRequest", (event) => {
    const { headers: sent, parameters } = event.detail;
    Object.assign(sent, { "X-CSRFToken": token(), "X-Staff": strip().dataset.staff });
    if (parameters.csrfmiddlewaretoken) parameters.csrfmiddlewaretoken = token();
  });
  document.addEventListener("htmx:beforeOnLoad", (event) => {
    if (event.detail.xhr.status !== 401 || event.detail.elt.closest("#cover")) return;
    event.preventDefault(); // it would lead to the sign-in, away from what is typed here
    set("signed-out");
  });
  document.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail.xhr?.getResponseHeader("X-Someone-Else")) set("someone");
    if (event.detail.successful) reached();
  });

  // A prediction or a rescale that found no network is asked for again, with what is typed then.
  function retry(element) {
    if (!element.closest("#main form")) return;
    lost();
    later("htmx " + element.getAttribute("hx-post"), () => {
      if (element.isConnected) element.dispatchEvent(new Event("change", { bubbles: true }));
    });
  }

  window.network = {
    post,
    headers,
    isRefused,
    later,
    set,
    strip,
    forget: (key) => queue.delete(key),
    isAway: () => away,
    leave(to) {
      leaving = true;
      if (to) location.assign(to);
      else location.reload();
    },
    isLeaving: () => leaving,
  };
  if (away) lost();
  else render();
})();
