/*
 * Minutes gone and minutes left, reckoned from the server's own moment, so a reload or another
 * tablet shows the same. The device's clock may be wrong: data-now-at corrects for it.
 *   data-started-at, data-now-at   ISO moments from the server;  data-stopped-at  when it ended
 *   data-minutes                   how long it should take
 */
(function () {
  "use strict";
  const running = new Set();

  const two = (n) => String(n).padStart(2, "0");
  const clock = (seconds) => `${Math.floor(seconds / 60)}:${two(Math.floor(seconds % 60))}`;

  function tick(timer) {
    const { element, startedAt, stoppedAt, offset, length } = timer;
    const now = stoppedAt ?? Date.now() + offset;
    const gone = Math.max(0, (now - startedAt) / 1000);
    const left = length - gone;
    const over = left < 0;
    element.querySelector("[data-gone]").textContent = clock(gone);
    element.querySelector("[data-left]").textContent = over ? "+" + clock(-left) : clock(Math.ceil(left));
    element.querySelector("[data-fill]")?.setAttribute("width", String(Math.min(1000, (gone / length) * 1000)));
    const state = over ? "over" : left <= 120 ? "soon" : "runs";
    if (element.dataset.state === state) return;
    const before = element.dataset.state;
    element.dataset.state = state;
    for (const part of element.querySelectorAll("[data-when]")) {
      part.hidden = !part.dataset.when.split(" ").includes(state);
    }
    const said = element.querySelector(`[data-when~="${state}"]`);
    if (before && said) {
      document.dispatchEvent(new CustomEvent("announce", { detail: { message: said.textContent } }));
    }
    if (before && state === "over") navigator.vibrate?.([300, 150, 300]);
  }

  function mount(element) {
    if (element.dataset.live || !element.dataset.startedAt) return;
    element.dataset.live = "yes";
    const serverNow = Date.parse(element.dataset.nowAt);
    const timer = {
      element,
      startedAt: Date.parse(element.dataset.startedAt),
      stoppedAt: element.dataset.stoppedAt ? Date.parse(element.dataset.stoppedAt) : null,
      offset: Number.isNaN(serverNow) ? 0 : serverNow - Date.now(),
      length: Math.max(1, Number(element.dataset.minutes) * 60),
    };
    tick(timer);
    if (timer.stoppedAt === null) running.add(timer);
  }

  function tickAll() {
    for (const timer of running) {
      if (timer.element.isConnected) tick(timer);
      else running.delete(timer);
    }
  }

  function mountAll(root) {
    if (root.matches?.("[data-timer]")) mount(root);
    for (const element of root.querySelectorAll("[data-timer]")) mount(element);
  }
  mountAll(document);
  document.addEventListener("htmx:load", (event) => mountAll(event.detail.elt));
  document.addEventListener("visibilitychange", tickAll);
  setInterval(tickAll, 500);
})();
