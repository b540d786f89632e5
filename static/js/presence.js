/*
 * Every ten seconds a sign of life: it tells who else is on this visit and what was saved
 * meanwhile, and finds out whether the network is back. A page that nobody looks at is silent.
 */
(function () {
  "use strict";
  const network = window.network;
  if (!network || !network.strip().dataset.here) return;
  const EVERY = 10000;
  const FRESH = 5000; // an answer that took longer, as over a sleep, does not say what time it is
  let timer = null;

  function seat() {
    try {
      const known = sessionStorage.getItem("seat") || Math.random().toString(36).slice(2, 12);
      sessionStorage.setItem("seat", known);
      document.cookie = `seat=${known}; path=/visits/; samesite=strict`; // the next page is drawn without itself
      return known;
    } catch {
      return "page";
    }
  }

  async function tell(more = {}) {
    clearTimeout(timer);
    timer = setTimeout(tick, EVERY);
    const { here, step, version } = network.strip().dataset;
    const asked = Date.now();
    const answer = await network.post(here, { step, seat: seat(), version, ...more });
    if (!answer.ok) return null;
    const told = await answer.json();
    if (network.isLeaving()) return null;
    const others = network.strip().querySelector("[data-others]");
    if (others.textContent !== told.others.join("")) {
      others.replaceChildren(
        ...told.others.map((sentence) => {
          const item = document.createElement("li");
          item.textContent = sentence;
          return item;
        }),
      );
    }
    if (!more.first && told.changes.length && network.strip().dataset.version === version) {
      network.latest = told.version;
      network.set("conflict", told.changes);
    }
    if (Math.abs(Date.now() - asked) < FRESH) {
      document.dispatchEvent(new CustomEvent("server:time", { detail: { now: told.now } }));
    }
    return told;
  }

  function tick() {
    if (document.hidden) return;
    tell().catch(() => {});
  }

  document.addEventListener("visibilitychange", tick);
  document.addEventListener("server:ask", tick);
  window.presence = { tell };
})();
