/*
 * Text that waits for the network, kept on this device so that only this person in this session
 * can read it (OWASP ASVS 14.3.3): AES-GCM with a key that cannot be taken out of the browser,
 * derived from a secret which the server hands to a page of this session and which dies with
 * it. What another key has locked can never be opened again and is thrown away.
 *
 * The Web Cryptography API needs a secure context: HTTPS, or this machine itself. Elsewhere
 * vault.isOpen is false, nothing is stored, and the page says so.
 */
(function () {
  "use strict";
  const PREFIX = "draft:";
  const strip = document.getElementById("network");
  const secret = strip?.dataset.secret;
  strip?.removeAttribute("data-secret");
  const isOpen = Boolean(secret && window.isSecureContext && window.crypto?.subtle);
  const text = new TextEncoder();
  const bytes = (base64) => Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
  const base64 = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer)));

  async function derive() {
    const raw = await crypto.subtle.importKey("raw", text.encode(secret), "HKDF", false, [
      "deriveBits",
      "deriveKey",
    ]);
    const from = (info) => ({
      name: "HKDF",
      hash: "SHA-256",
      salt: new Uint8Array(32),
      info: text.encode(info),
    });
    const mark = await crypto.subtle.deriveBits(from("mark"), raw, 48);
    const key = await crypto.subtle.deriveKey(
      from("drafts"),
      raw,
      { name: "AES-GCM", length: 256 },
      false,
      ["encrypt", "decrypt"],
    );
    return { key, mark: base64(mark) };
  }

  const ready = isOpen ? derive() : null;
  let isLeaving = false;
  const removals = new Map(); // a lock that is still turning must not outlive its removal

  function names() {
    return Object.keys(localStorage).filter((name) => name.startsWith(PREFIX));
  }

  async function put(name, value) {
    if (!isOpen) return;
    const before = removals.get(name);
    const { key, mark } = await ready;
    const iv = crypto.getRandomValues(new Uint8Array(12));
    const how = { name: "AES-GCM", iv, additionalData: text.encode(name) };
    const locked = await crypto.subtle.encrypt(how, key, text.encode(JSON.stringify(value)));
    if (isLeaving || removals.get(name) !== before) return;
    try {
      localStorage.setItem(PREFIX + name, [mark, base64(iv), base64(locked)].join("."));
    } catch {
      /* storage is full or shut: the server's copy has to do */
    }
  }

  async function get(name) {
    if (!isOpen) return null;
    const { key, mark } = await ready;
    const [lock, iv, locked] = (localStorage.getItem(PREFIX + name) || "").split(".");
    if (lock !== mark) return null;
    try {
      const how = { name: "AES-GCM", iv: bytes(iv), additionalData: text.encode(name) };
      return JSON.parse(
        new TextDecoder().decode(await crypto.subtle.decrypt(how, key, bytes(locked))),
      );
    } catch {
      remove(name);
      return null;
    }
  }

  function remove(name) {
    removals.set(name, (removals.get(name) || 0) + 1);
    try {
      localStorage.removeItem(PREFIX + name);
    } catch {
      /* nothing is kept where storage is shut */
    }
  }

  async function wipe(keep) {
    for (const name of names()) {
      if (!keep || !localStorage.getItem(name).startsWith(keep + "."))
        localStorage.removeItem(name);
    }
  }

  function sayWhereShut() {
    const place = document.getElementById("network");
    place?.removeAttribute("data-secret");
    const words = place?.querySelector("[data-insecure]");
    if (words) words.hidden = isOpen;
  }
  sayWhereShut();
  document.addEventListener("htmx:load", sayWhereShut);
  window.vault = { put, get, remove, isOpen };
  if (isOpen) ready.then(({ mark }) => wipe(mark));
  // Signing out takes the key; the sign-in page and the form that leads there take the rest.
  if (document.querySelector("[data-forgets]")) wipe();
  document.addEventListener("submit", (event) => {
    if (!event.target.matches("form[data-signs-out]")) return;
    isLeaving = true;
    wipe();
  });
})();
