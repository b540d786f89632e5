/*
 * A timer calls: a sound (drawn by the browser, no file), a vibration, and a screen that stays
 * awake meanwhile. Browsers let a page sound only after a first tap; the button says so.
 *   [data-sound]        the button;  [data-sound-when="on|waits|off"]  its words
 */
(function () {
  "use strict";
  const KEY = "timer-sound";
  const TUNES = {
    mark: [880, 0, 880],
    over: [660, 880, 0, 660, 880, 0, 660, 880],
    try: [880],
  };
  const BUZZES = { mark: [200, 100, 200], over: [400, 150, 400, 150, 400] };
  const NOTE = 0.18;
  let isOn = true;
  let context = null;
  let lock = null;
  try {
    isOn = localStorage.getItem(KEY) !== "off";
  } catch {
    /* storage may be shut: then it is on for this page */
  }

  const state = () => (!isOn ? "off" : context?.state === "running" ? "on" : "waits");

  function show() {
    for (const button of document.querySelectorAll("[data-sound]")) {
      button.hidden = !window.AudioContext;
      delete button.dataset.waits; // until now its place was kept, so that nothing jumps
      button.setAttribute("aria-pressed", String(isOn));
      for (const words of button.querySelectorAll("[data-sound-when]")) {
        words.hidden = words.dataset.soundWhen !== state();
      }
    }
  }

  async function arm() {
    if (!isOn || !window.AudioContext) return;
    context ??= new AudioContext();
    if (context.state !== "running") await context.resume();
    show();
  }

  function play(tune) {
    if (state() !== "on") return;
    let when = context.currentTime + 0.02;
    for (const pitch of tune) {
      if (pitch) note(pitch, when);
      when += NOTE;
    }
  }

  function note(pitch, when) {
    const voice = context.createOscillator();
    const volume = context.createGain();
    voice.frequency.value = pitch;
    volume.gain.setValueAtTime(0.0001, when);
    volume.gain.exponentialRampToValueAtTime(0.5, when + 0.02);
    volume.gain.exponentialRampToValueAtTime(0.0001, when + NOTE);
    voice.connect(volume).connect(context.destination);
    voice.start(when);
    voice.stop(when + NOTE);
  }

  async function stayAwake() {
    const runs = document.querySelector(
      "[data-timer]:not([data-stopped-at]), [data-clock]:not([data-quiet])",
    );
    if (!runs || (lock && !lock.released) || document.hidden) return;
    try {
      lock = (await navigator.wakeLock?.request("screen")) ?? null;
    } catch {
      /* a low battery may refuse: the timer then catches up on waking */
    }
  }

  document.addEventListener("click", async (event) => {
    if (!document.querySelector("[data-sound], [data-clock]:not([data-quiet])")) return;
    const button = event.target.closest("[data-sound]");
    if (button && state() !== "waits") {
      isOn = !isOn;
      try {
        localStorage.setItem(KEY, isOn ? "on" : "off");
      } catch {
        /* it then lasts for this page */
      }
    }
    stayAwake();
    await arm();
    show();
    if (button) play(TUNES.try);
  });
  document.addEventListener("timer:call", (event) => {
    play(TUNES[event.detail.kind]);
    navigator.vibrate?.(BUZZES[event.detail.kind]);
  });
  document.addEventListener("visibilitychange", stayAwake);
  document.addEventListener("htmx:load", show);
  show();
})();
