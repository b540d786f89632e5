/*
 * The day opens at now and keeps its place and its focus when it is drawn again. One stop of
 * Tab leads into each column, the arrow keys walk within it: bookings first, then free times.
 *
 * Move an appointment in the day: drag it with a mouse, or press M on it, then the arrow keys,
 * then Enter; Escape leaves it where it was. The server decides and offers an undo. On touch,
 * the appointment's own page moves it.
 */
(function () {
  "use strict";
  const STEP = 5;
  const HOUR = 60 / STEP; // in rows
  const EDGE = 24; // px
  let held = null; // {block, column, minutes, marker, byKey}

  function minutesOf(clock) {
    const [hours, minutes] = clock.split(":").map(Number);
    return hours * 60 + minutes;
  }

  function clockOf(minutes) {
    const two = (n) => String(n).padStart(2, "0");
    return `${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
  }

  function columns() {
    return Array.from(document.querySelectorAll(".diary__day"));
  }

  function rowHeight(column) {
    return parseFloat(getComputedStyle(column).gridAutoRows) || 9;
  }

  function say(words) {
    document.dispatchEvent(new CustomEvent("announce", { detail: { message: words } }));
  }

  function hold(block, byKey) {
    drop();
    const marker = document.createElement("li");
    marker.className = "diary__target";
    marker.setAttribute("aria-hidden", "true");
    held = {
      block,
      column: block.closest(".diary__day"),
      minutes: minutesOf(block.dataset.time),
      marker,
      byKey,
    };
    block.classList.add("diary__block--held");
    show();
  }

  function drop() {
    if (!held) return;
    held.block.classList.remove("diary__block--held");
    held.marker.remove();
    held = null;
  }

  // The classes of diary.css, as the template tag diary_place writes them.
  function place(first, rows) {
    const start = `h-${Math.floor(first / HOUR)} r-${(first % HOUR) + 1}`;
    return rows < HOUR
      ? `${start} d-${rows}`
      : `${start} e-${Math.floor(rows / HOUR)} f-${rows % HOUR}`;
  }

  function show() {
    const { column, block, marker, minutes } = held;
    const opens = minutesOf(column.dataset.opensAt);
    const first = Math.max(0, Math.round((minutes - opens) / STEP));
    const rows = Math.max(1, Math.round(Number(block.dataset.minutes) / STEP));
    marker.className = `diary__target ${place(first, rows)}`;
    marker.textContent = `${clockOf(minutes)} ${column.dataset.name}`;
    if (marker.parentElement !== column) column.append(marker);
    if (!held.byKey) return;
    marker.scrollIntoView({ block: "nearest", inline: "nearest" });
    say(marker.textContent);
  }

  // Scrolling to the marker would move the day under the pointer and with it the time: it
  // scrolls only where the pointer is at the edge of the day.
  function scrollAtEdge(column, y) {
    const diary = column.closest(".diary");
    const box = diary.getBoundingClientRect();
    const names = diary.querySelector(".diary__who").offsetHeight;
    if (y > Math.min(box.bottom, innerHeight) - EDGE) diary.scrollTop += EDGE / 2;
    else if (y < Math.max(box.top, 0) + names + EDGE) diary.scrollTop -= EDGE / 2;
  }

  function send() {
    const { block, column, minutes } = held;
    const same =
      minutes === minutesOf(block.dataset.time) && column === block.closest(".diary__day");
    const values = {
      version: block.dataset.version,
      stylist: column.dataset.stylist,
      day: document.getElementById("day").dataset.day,
      time: clockOf(minutes),
    };
    const address = block.dataset.move;
    drop();
    if (!same) window.htmx.ajax("POST", address, { target: "#day", swap: "outerHTML", values });
  }

  function to(minutes) {
    const opens = minutesOf(held.column.dataset.opensAt);
    held.minutes = Math.max(opens, Math.min(24 * 60 - STEP, minutes));
  }

  document.addEventListener("keydown", (event) => {
    const block = event.target.closest?.("[data-move]");
    if (!held && block && event.key.toLowerCase() === "m" && !event.ctrlKey && !event.metaKey) {
      event.preventDefault();
      hold(block, true);
      return;
    }
    if (!held || !held.byKey) return;
    const all = columns();
    const place = all.indexOf(held.column);
    const towardsEnd = document.dir === "rtl" ? "ArrowLeft" : "ArrowRight";
    const step = event.shiftKey ? STEP : 15;
    if (event.key === "ArrowDown") to(held.minutes + step);
    else if (event.key === "ArrowUp") to(held.minutes - step);
    else if (event.key === "ArrowLeft" || event.key === "ArrowRight") {
      held.column = all[place + (event.key === towardsEnd ? 1 : -1)] || held.column;
    } else if (event.key === "Enter") {
      event.preventDefault();
      send();
      return;
    } else if (event.key === "Escape") {
      drop();
      return;
    } else return;
    event.preventDefault();
    show();
  });

  let press = null;
  document.addEventListener("pointerdown", (event) => {
    const block = event.target.closest("[data-move]");
    if (!block || event.button !== 0 || event.pointerType !== "mouse") return;
    if (event.target.closest("button, form")) return;
    press = {
      block,
      x: event.clientX,
      y: event.clientY,
      offset: event.clientY - block.getBoundingClientRect().top,
    };
  });

  document.addEventListener("dragstart", (event) => {
    if (event.target.closest?.("[data-move]")) event.preventDefault();
  });

  document.addEventListener("pointermove", (event) => {
    if (!press) return;
    if (!held) {
      if (Math.hypot(event.clientX - press.x, event.clientY - press.y) < 7) return;
      hold(press.block, false);
    }
    const over = columns().find((column) => {
      const box = column.getBoundingClientRect();
      return event.clientX >= box.left && event.clientX < box.right;
    });
    if (over) held.column = over;
    scrollAtEdge(held.column, event.clientY);
    const top = event.clientY - press.offset - held.column.getBoundingClientRect().top;
    const rows = Math.round(top / rowHeight(held.column) / 3) * 3;
    to(minutesOf(held.column.dataset.opensAt) + rows * STEP);
    show();
  });

  document.addEventListener("pointerup", () => {
    const moved = press && held && !held.byKey;
    press = null;
    if (!moved) return;
    // The click that follows a drag must not open the appointment.
    document.addEventListener("click", (event) => event.preventDefault(), {
      capture: true,
      once: true,
    });
    setTimeout(() => document.dispatchEvent(new Event("drag-over")), 0);
    send();
  });

  document.addEventListener("pointercancel", () => {
    press = null;
    drop();
  });

  // One stop a column: what else is in it is reached by the arrow keys.
  function stops(column) {
    return Array.from(column.querySelectorAll("a[href], button")).filter(
      (one) => !one.closest("[hidden]"),
    );
  }

  function enter(column, one) {
    for (const stop of stops(column)) stop.tabIndex = stop === one ? 0 : -1;
  }

  function firstStop(column) {
    const clock = document.querySelector(".diary__now");
    const own = stops(column);
    const later = own.find(
      (one) =>
        clock && one.matches(".diary__open") && one.closest("li").offsetTop >= clock.offsetTop - 1,
    );
    return later || own[0];
  }

  document.addEventListener("keydown", (event) => {
    const column = event.target.closest?.(".diary__day");
    if (held || !column || event.altKey || event.ctrlKey || event.metaKey) return;
    const own = stops(column);
    const at = own.indexOf(event.target);
    const towardsEnd = document.dir === "rtl" ? "ArrowLeft" : "ArrowRight";
    let next = null;
    if (event.key === "ArrowDown") next = own[at + 1];
    else if (event.key === "ArrowUp") next = own[at - 1];
    else if (event.key === "Home") next = own[0];
    else if (event.key === "End") next = own[own.length - 1];
    else if (event.key === "ArrowLeft" || event.key === "ArrowRight") {
      const all = columns();
      const other = all[all.indexOf(column) + (event.key === towardsEnd ? 1 : -1)];
      if (other) next = stops(other).find((one) => one.tabIndex === 0) || stops(other)[0];
    } else return;
    event.preventDefault();
    if (!next) return;
    enter(next.closest(".diary__day"), next);
    next.focus();
    next.scrollIntoView({ block: "nearest", inline: "nearest" });
  });

  document.addEventListener("focusin", (event) => {
    const column = event.target.closest?.(".diary__day");
    if (column) enter(column, event.target);
  });

  function arrange() {
    for (const column of columns()) {
      const own = stops(column);
      if (own.length && !own.some((one) => one === document.activeElement))
        enter(column, firstStop(column));
    }
  }

  function toNow() {
    const diary = document.querySelector("#day .diary");
    const now = diary?.querySelector(".diary__now");
    if (now) diary.scrollTop = Math.max(0, now.offsetTop - diary.clientHeight / 4);
  }

  let kept = null;
  document.addEventListener("htmx:beforeSwap", (event) => {
    const diary = event.detail.target.id === "day" && event.detail.target.querySelector(".diary");
    if (!diary) return;
    const open = Array.from(
      event.detail.target.querySelectorAll("details[open][id]"),
      (one) => one.id,
    );
    kept = {
      top: diary.scrollTop,
      left: diary.scrollLeft,
      focus: diary.contains(document.activeElement) && document.activeElement.id,
      open,
    };
  });
  document.addEventListener("htmx:afterSwap", () => {
    const diary = kept && document.querySelector("#day .diary");
    if (!diary) return;
    diary.scrollTop = kept.top;
    diary.scrollLeft = kept.left;
    for (const id of kept.open) document.getElementById(id)?.setAttribute("open", "");
    if (kept.focus) document.getElementById(kept.focus)?.focus({ preventScroll: true });
    kept = null;
    arrange();
  });
  arrange();
  toNow();

  // While something is held, what other desks changed waits for the next look.
  document.addEventListener("htmx:beforeRequest", (event) => {
    if (held && event.detail.elt.id === "day") event.preventDefault();
  });
})();
