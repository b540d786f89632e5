/*
 * What has just happened. A view may also send HX-Trigger: {"toast": {"message": "..."}}.
 * A toast leaves after six seconds, later while the pointer or the focus is on it, and stands
 * in whichever corner covers nothing that can be pressed. Its words are said once.
 */
(function () {
  "use strict";
  const SHOWN_FOR = 6000;
  const CORNERS = ["bottom-start", "bottom-end", "top-start", "top-end"];
  const place = document.getElementById("toasts");
  if (!place) return;

  function covered() {
    const box = place.getBoundingClientRect();
    if (!box.height) return 0;
    const pressed = document.querySelectorAll(
      "a[href], button, summary, input, select, textarea, [tabindex='0']",
    );
    let count = 0;
    for (const one of pressed) {
      if (place.contains(one)) continue;
      const other = one.getBoundingClientRect();
      const meets =
        other.left < box.right &&
        other.right > box.left &&
        other.top < box.bottom &&
        other.bottom > box.top;
      if (meets && other.width && other.height) count += 1;
    }
    return count;
  }

  function settle() {
    let best = [Infinity, CORNERS[0]];
    for (const corner of CORNERS) {
      place.dataset.corner = corner;
      const count = covered();
      if (count < best[0]) best = [count, corner];
      if (!count) return;
    }
    place.dataset.corner = best[1];
  }

  function leave(toast) {
    let timer = null;
    const wait = () => {
      clearTimeout(timer);
      timer = setTimeout(() => toast.remove(), SHOWN_FOR);
    };
    for (const kind of ["pointerenter", "focusin"])
      toast.addEventListener(kind, () => clearTimeout(timer));
    for (const kind of ["pointerleave", "focusout"]) toast.addEventListener(kind, wait);
    wait();
  }

  function show(message) {
    if (!message) return;
    const toast = document.createElement("div");
    toast.className = "toast";
    const text = document.createElement("span");
    text.className = "toast__text";
    text.textContent = message;
    const close = document.createElement("button");
    close.className = "toast__close";
    close.type = "button";
    close.textContent = "×";
    close.setAttribute("aria-label", place.dataset.closeLabel);
    close.setAttribute("data-closes-toast", "");
    toast.append(text, close);
    place.append(toast);
    settle();
    leave(toast);
  }

  document.addEventListener("toast", (event) => show(event.detail.message || event.detail.value));
  document.addEventListener("click", (event) => {
    const close = event.target.closest("[data-closes-toast]");
    if (close) close.closest(".toast").remove();
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || document.querySelector("dialog[open]")) return;
    document.querySelector("#toasts .toast:last-child")?.remove();
  });

  // What came with the page was there before anyone listened: it is said as if it were new.
  const first = [...place.querySelectorAll(".toast")];
  if (first.length) {
    settle();
    first.forEach(leave);
    const words = first.map((toast) => toast.querySelector(".toast__text").textContent).join(" ");
    document.dispatchEvent(new CustomEvent("announce", { detail: { message: words } }));
    let moved = null;
    const again = () => {
      clearTimeout(moved);
      moved = setTimeout(() => place.childElementCount && settle(), 150);
    };
    window.addEventListener("scroll", again, { passive: true });
    window.addEventListener("resize", again);
  }
})();
