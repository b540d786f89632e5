/*
 * Minutes gone and minutes left, reckoned from the server's own moment, so a reload or another
 * tablet shows the same. The device's clock may be wrong: data-now-at corrects for it, and each
 * "server:time" ({now}) does again, since somebody may put the clock right meanwhile.
 *   data-started-at, data-now-at   ISO moments from the server;  data-stopped-at  when it ended
 *   data-minutes                   how long it should take
 *   [data-mark] inside             minutes after which somebody should look
 * [data-clock] is the same in one line: [data-clock-left], and data-quiet where it does not call.
 * What is reached while the page is open is announced, and told as "timer:call" (chime.js).
 */
(function () {
  "use strict";
  const running = new Set();
  let seen = { date: Date.now(), steady: performance.now() };

  const two = (n) => String(n).padStart(2, "0");
  const clock = (seconds) => `${Math.floor(seconds / 60)}:${two(Math.floor(seconds % 60))}`;

  const EVERY = "[data-timer], [data-clock]";

  function call(timer, kind, message) {
    if (timer.element.dataset.quiet !== undefined) return;
    document.dispatchEvent(new CustomEvent("announce", { detail: { message } }));
    document.dispatchEvent(new CustomEvent("timer:call", { detail: { kind, message } }));
  }

  /* Marks that were passed before the page opened are shown, but nobody is called for them. */
  function look(timer, gone, isFirst) {
    for (const mark of timer.marks) {
      if (mark.isPassed || gone < mark.seconds) continue;
      mark.isPassed = true;
      const due = mark.item.querySelector("[data-due]");
      if (!due) continue;
      due.hidden = false;
      mark.item.classList.add("is-due");
      if (isFirst) continue;
      const words = mark.item.querySelector("[data-words]").textContent;
      call(timer, "mark", `${timer.element.getAttribute("aria-label")}: ${words}`);
    }
  }

  function tick(timer) {
    const { element, startedAt, stoppedAt, offset, length } = timer;
    const now = stoppedAt ?? Date.now() + offset;
    const gone = Math.max(0, (now - startedAt) / 1000);
    const left = length - gone;
    const over = left < 0;
    const past = element.querySelector("[data-gone]");
    if (past) past.textContent = clock(gone);
    element.querySelector("[data-left], [data-clock-left]").textContent = over
      ? "+" + clock(-left)
      : clock(Math.ceil(left));
    element
      .querySelector("[data-fill]")
      ?.setAttribute("width", String(Math.min(1000, (gone / length) * 1000)));
    look(timer, gone, !element.dataset.state);
    const state = over ? "over" : left <= 120 ? "soon" : "runs";
    if (element.dataset.state === state) return;
    const before = element.dataset.state;
    element.dataset.state = state;
    for (const part of element.querySelectorAll("[data-when]")) {
      part.hidden = !part.dataset.when.split(" ").includes(state);
    }
    const said = element.querySelector(`[data-when~="${state}"]`);
    if (!before || !said) return;
    const message = `${element.getAttribute("aria-label")}: ${said.textContent.trim()}`;
    if (state === "over") call(timer, "over", message);
    else if (element.dataset.quiet === undefined)
      document.dispatchEvent(new CustomEvent("announce", { detail: { message } }));
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
      marks: [...element.querySelectorAll("[data-mark]")].map((item) => ({
        item,
        seconds: Number(item.dataset.mark) * 60,
        isPassed: false,
      })),
    };
    tick(timer);
    if (timer.stoppedAt === null) running.add(timer);
  }

  /* A clock that goes back was set; one that leaps ahead was set or slept: the server knows. */
  function heed() {
    const by = Date.now() - seen.date - (performance.now() - seen.steady);
    seen = { date: Date.now(), steady: performance.now() };
    if (Math.abs(by) < 5000) return;
    if (by < 0) for (const timer of running) timer.offset -= by;
    document.dispatchEvent(new Event("server:ask"));
  }

  function tickAll() {
    heed();
    for (const timer of running) {
      if (timer.element.isConnected) tick(timer);
      else running.delete(timer);
    }
  }

  function mountAll(root) {
    if (root.matches?.(EVERY)) mount(root);
    for (const element of root.querySelectorAll(EVERY)) mount(element);
  }
  mountAll(document);
  document.addEventListener("htmx:load", (event) => mountAll(event.detail.elt));
  document.addEventListener("visibilitychange", tickAll);
  document.addEventListener("server:time", (event) => {
    const offset = Date.parse(event.detail.now) - Date.now();
    for (const timer of running) {
      if (!Number.isNaN(offset) && Math.abs(offset - timer.offset) > 3000) timer.offset = offset;
    }
    tickAll();
  });
  setInterval(tickAll, 500);
})();
