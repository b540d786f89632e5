/*
 * Move an appointment in the day: drag it with a mouse, or press M on it, then the arrow keys,
 * then Enter; Escape leaves it where it was. The server decides and offers an undo. On touch,
 * the appointment's own page moves it.
 */
(function () {
  "use strict";
  const STEP = 5;
  const HOUR = 60 / STEP; // in rows
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
    held = { block, column: block.closest(".diary__day"), minutes: minutesOf(block.dataset.time), marker, byKey };
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
    return rows < HOUR ? `${start} d-${rows}` : `${start} e-${Math.floor(rows / HOUR)} f-${rows % HOUR}`;
  }

  function show() {
    const { column, block, marker, minutes } = held;
    const opens = minutesOf(column.dataset.opensAt);
    const first = Math.max(0, Math.round((minutes - opens) / STEP));
    const rows = Math.max(1, Math.round(Number(block.dataset.minutes) / STEP));
    marker.className = `diary__target ${place(first, rows)}`;
    marker.textContent = `${clockOf(minutes)} ${column.dataset.name}`;
    if (marker.parentElement !== column) column.append(marker);
    if (held.byKey) say(marker.textContent);
  }

  function send() {
    const { block, column, minutes } = held;
    const same = minutes === minutesOf(block.dataset.time) && column === block.closest(".diary__day");
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
    press = { block, x: event.clientX, y: event.clientY, offset: event.clientY - block.getBoundingClientRect().top };
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
    document.addEventListener("click", (event) => event.preventDefault(), { capture: true, once: true });
    setTimeout(() => document.dispatchEvent(new Event("drag-over")), 0);
    send();
  });

  document.addEventListener("pointercancel", () => {
    press = null;
    drop();
  });

  // While something is held, what other desks changed waits for the next look.
  document.addEventListener("htmx:beforeRequest", (event) => {
    if (held && event.detail.elt.id === "day") event.preventDefault();
  });
})();
