/*
 * Nobody has touched the screen for a while: it is covered where it is, so that nothing typed is
 * lost. Behind the cover the page is invisible and inert; the server refuses everything until
 * PIN or password is given. What pages ask for by themselves does not count as a touch: every
 * such request says how long ago the last one was.
 */
(function () {
  "use strict";
  const cover = document.getElementById("cover");
  if (!cover) return;
  const root = document.documentElement;
  const limit = Number(cover.dataset.idleSeconds) * 1000;
  const often = Math.min(60_000, limit / 4);
  const title = document.title;
  let last = Date.now(); // the last touch
  let told = Date.now(); // the last time that the server heard of us
  let locked = false;
  let asking = null;
  let before = null;

  const gone = () => Math.max(0, Date.now() - last);
  const seconds = () => String(Math.floor(gone() / 1000));
  const token = () => JSON.parse(document.body.getAttribute("hx-headers") || "{}");

  function shut() {
    if (locked) return;
    locked = true;
    before = document.activeElement;
    root.classList.add("is-locked");
    document.title = cover.dataset.title;
    if (!cover.querySelector("#unlock")) {
      cover.append(cover.querySelector("template").content.cloneNode(true));
      window.htmx?.process(cover);
    }
    if (!cover.open) cover.showModal();
    cover.querySelector("input:not([type='hidden'])")?.focus({ preventScroll: true });
  }

  function open() {
    last = told = Date.now();
    if (!locked) return;
    locked = false;
    cover.close();
    cover.querySelector("#unlock")?.remove();
    root.classList.remove("is-locked");
    document.title = title;
    if (before?.isConnected) before.focus({ preventScroll: true });
    document.dispatchEvent(new Event("sitting-opened"));
  }

  function post(address, more) {
    const headers = { ...token(), ...more, "X-Idle-Seconds": seconds() };
    return fetch(address, { method: "POST", headers, cache: "no-store" });
  }

  /* Ask the server, which knows of touches in other windows too; true when the screen may stay open. */
  function ask() {
    asking ??= (async () => {
      try {
        const answer = await post(cover.dataset.awake, window.network?.headers());
        window.release?.heard(answer.headers.get("X-Release"));
        if (answer.status === 423) shut();
        else if (!locked && window.network?.isRefused(answer))
          return false; // it keeps what is typed, and says so
        else if (answer.status === 204 && answer.headers.has("X-Lock-In")) {
          const left = Number(answer.headers.get("X-Lock-In")) * 1000;
          if (gone() >= limit) last = Date.now() - Math.max(0, limit - left);
          told = Date.now();
          return true;
        } else location.reload(); // signed out, or someone else has the tablet
      } catch {
        if (gone() >= limit) shut(); // no network: the cover does not wait for it
        return !locked;
      } finally {
        asking = null;
      }
      return false;
    })();
    return asking;
  }

  function touched(event) {
    if (locked) return;
    if (gone() >= limit) {
      event.preventDefault();
      event.stopImmediatePropagation();
      shut();
      ask().then((free) => free && open());
      return;
    }
    last = Date.now();
    if (last - told >= often) ask();
  }

  for (const kind of ["pointerdown", "pointermove", "keydown", "wheel"]) {
    document.addEventListener(kind, touched, { capture: true, passive: kind === "wheel" });
  }

  function look() {
    if (locked || gone() < limit) return;
    shut();
    ask().then((free) => free && open());
  }
  setInterval(look, Math.min(5000, limit / 10));
  document.addEventListener("visibilitychange", () => document.hidden || look());
  window.addEventListener("pageshow", (event) => event.persisted && location.reload());

  // A form after a long silence (no network) must not run into the lock and lose its words.
  document.addEventListener(
    "submit",
    (event) => {
      if (cover.contains(event.target)) return;
      if (!locked && Date.now() - told < limit * 0.8) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      if (locked) return;
      ask().then((free) => free && event.target.requestSubmit(event.submitter));
    },
    { capture: true },
  );

  document.addEventListener("submit", (event) => {
    if (!event.target.matches("[data-lock-now]")) return;
    event.preventDefault();
    event.target.closest("details")?.removeAttribute("open");
    shut();
    post(event.target.action).catch(() => {
      /* no network: covered here, and the server locks when it has heard nothing for long enough */
    });
  });

  document.addEventListener("htmx:configRequest", (event) => {
    event.detail.headers["X-Idle-Seconds"] = seconds();
  });
  document.addEventListener("htmx:beforeRequest", (event) => {
    if (locked && !cover.contains(event.detail.elt)) event.preventDefault();
  });
  document.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail.successful && !locked) told = Date.now();
    const refused = event.detail.failed && event.detail.xhr?.status !== 422;
    if (refused && cover.contains(event.detail.elt)) {
      cover.querySelector("[data-unlock-refused]")?.removeAttribute("hidden");
    }
  });
  document.addEventListener("sitting-locked", shut);
  document.addEventListener("sitting-unlocked", open);

  // For scripts that send by themselves: what to send along, and when not to.
  window.lock = { headers: () => ({ "X-Idle-Seconds": seconds() }), isShut: () => locked };

  cover.addEventListener("cancel", (event) => event.preventDefault());
  cover.addEventListener("close", () => locked && cover.showModal());
})();
