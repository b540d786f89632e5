/*
 * Photos: what the camera gives is shown first, then sent with its progress. Without network it
 * stays on the page for another try. Nothing is kept in the browser's storage.
 */
(function () {
  "use strict";
  const LARGE = 1.5 * 1024 * 1024;
  const SIDE = 2048;
  const PATIENCE = 90_000;
  let count = 0;

  function key() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  /* A large picture is made smaller on the tablet: less to send, and no position leaves it. */
  async function lighter(file) {
    if (file.size <= LARGE || !window.createImageBitmap) return file;
    try {
      const bitmap = await createImageBitmap(file, { imageOrientation: "from-image" });
      const scale = Math.min(1, SIDE / Math.max(bitmap.width, bitmap.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.max(1, Math.round(bitmap.width * scale));
      canvas.height = Math.max(1, Math.round(bitmap.height * scale));
      canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
      bitmap.close();
      const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.92));
      return blob || file;
    } catch {
      return file; // the server says what is wrong with it
    }
  }

  function say(tile, words) {
    tile.querySelector(".photos__said").textContent = words || "";
  }

  function add(form, file) {
    count += 1;
    const tile = form.querySelector("[data-photo-tile]").content.firstElementChild.cloneNode(true);
    for (const radio of tile.querySelectorAll("[type=radio]")) radio.name = `tile-part-${count}`;
    const image = tile.querySelector("img");
    image.src = URL.createObjectURL(file);
    tile.file = file;
    tile.once = key();
    form.querySelector("[data-photos-waiting]").append(tile);
    if (file.type && !file.type.startsWith("image/")) say(tile, form.dataset.saysKind);
    tile.querySelector("[data-photo-send]").focus();
    tile.scrollIntoView({ block: "nearest" });
  }

  function drop(tile) {
    const form = tile.closest("[data-photo-take]");
    tile.request?.abort();
    URL.revokeObjectURL(tile.querySelector("img").src);
    tile.remove();
    form.querySelector(".photos__waiting [data-photo-send], [data-photo-pick]")?.focus();
  }

  function failed(tile, words) {
    const form = tile.closest("[data-photo-take]");
    const button = tile.querySelector("[data-photo-send]");
    tile.querySelector("progress").hidden = true;
    button.disabled = false;
    button.textContent = form.dataset.saysAgain;
    say(tile, words);
  }

  function refusal(text) {
    const page = new DOMParser().parseFromString(text, "text/html");
    const said = Array.from(page.querySelectorAll(".errorlist li"), (item) =>
      item.textContent.trim(),
    );
    return said.join(" ") || page.querySelector(".photos > form p, main p")?.textContent.trim();
  }

  async function refresh(form) {
    const answer = await fetch(form.dataset.shelf, { headers: { "HX-Request": "true" } });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.querySelector("[data-photos-kept]");
    const old = form.closest(".photos")?.querySelector("[data-photos-kept]");
    if (!fresh || !old) return;
    const here = document.importNode(fresh, true);
    old.replaceWith(here);
    window.htmx?.process(here);
  }

  async function send(tile) {
    const form = tile.closest("[data-photo-take]");
    const says = form.dataset;
    const button = tile.querySelector("[data-photo-send]");
    const bar = tile.querySelector("progress");
    button.disabled = true;
    say(tile, "");
    bar.hidden = false;
    bar.removeAttribute("value");
    const file = await lighter(tile.file);
    if (file.size > Number(says.most)) return failed(tile, says.saysLarge);
    const body = new FormData();
    const own = window.network?.headers(); // of a visit's page: whose it is, and the token that counts
    body.append(
      "csrfmiddlewaretoken",
      own?.["X-CSRFToken"] || form.querySelector("[name=csrfmiddlewaretoken]").value,
    );
    body.append("once", tile.once);
    body.append("part", tile.querySelector("[type=radio]:checked").value);
    body.append("file", file, "photo.jpg");
    const request = new XMLHttpRequest();
    tile.request = request;
    request.open("POST", form.action);
    request.setRequestHeader("HX-Request", "true");
    if (own) request.setRequestHeader("X-Staff", own["X-Staff"]);
    request.timeout = PATIENCE;
    request.upload.addEventListener("progress", (event) => {
      if (!event.lengthComputable) return;
      bar.value = Math.round((100 * event.loaded) / event.total);
      say(tile, `${says.saysSending} ${bar.value} %`);
    });
    request.addEventListener("load", () => {
      const to = request.getResponseHeader("HX-Redirect");
      if (request.status === 204 && to === new URL(says.shelf, location.href).pathname) {
        drop(tile);
        document.dispatchEvent(
          new CustomEvent("announce", { detail: { message: says.saysSaved } }),
        );
        refresh(form);
      } else if ([401, 403].includes(request.status) || request.getResponseHeader("X-Someone-Else"))
        failed(tile, says.saysOut);
      else if (request.status === 413) failed(tile, says.saysLarge);
      else if (request.status === 422)
        failed(tile, refusal(request.responseText) || says.saysFailed);
      else failed(tile, says.saysFailed);
    });
    for (const lost of ["error", "timeout"]) {
      request.addEventListener(lost, () => failed(tile, says.saysLost));
    }
    request.send(body);
  }

  document.addEventListener("change", (event) => {
    const picker = event.target.closest("[data-photo-pick]");
    if (!picker) return;
    for (const file of picker.files) add(picker.form, file);
    picker.value = "";
  });

  document.addEventListener("click", (event) => {
    const tile = event.target.closest(".photos__tile");
    if (tile && event.target.closest("[data-photo-send]")) send(tile);
    if (tile && event.target.closest("[data-photo-drop]")) drop(tile);
    const opener = event.target.closest("[data-photo-open]");
    const dialog = opener && document.querySelector("[data-photo-dialog]");
    if (!dialog || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    const image = dialog.querySelector("img");
    image.src = opener.href;
    image.alt = opener.querySelector("img").alt;
    dialog.showModal();
    dialog.addEventListener("close", () => opener.focus(), { once: true });
  });

  /* A form inside which only the script sends; Enter on a segment must not post it. */
  document.addEventListener(
    "submit",
    (event) => {
      if (event.target.matches("[data-photo-take]")) event.preventDefault();
    },
    true,
  );

  window.addEventListener("beforeunload", (event) => {
    if (document.querySelector(".photos__tile")) event.preventDefault();
  });
})();
