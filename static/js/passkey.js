/*
 * Passkeys: a button with data-passkey asks the address in it for a challenge, lets the device
 * sign it (or make a passkey), puts the answer into the form's own field and sends the form.
 * What belongs to passkeys (data-passkey-part) is shown where the browser knows them.
 */
(function () {
  "use strict";
  if (!window.PublicKeyCredential) return;

  function bytes(text) {
    const plain = atob(text.replace(/-/g, "+").replace(/_/g, "/"));
    return Uint8Array.from(plain, (letter) => letter.charCodeAt(0));
  }

  function text(buffer) {
    const plain = String.fromCharCode(...new Uint8Array(buffer));
    return btoa(plain).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
  }

  async function asked(address, form) {
    const answer = await fetch(address, {
      method: "POST",
      headers: { "X-CSRFToken": form.elements.csrfmiddlewaretoken.value },
    });
    if (!answer.ok) throw new Error(`${answer.status}`);
    const options = (await answer.json()).publicKey;
    options.challenge = bytes(options.challenge);
    if (options.user) options.user.id = bytes(options.user.id);
    for (const name of ["allowCredentials", "excludeCredentials"]) {
      for (const one of options[name] || []) one.id = bytes(one.id);
    }
    return options;
  }

  function said(credential) {
    const response = { clientDataJSON: text(credential.response.clientDataJSON) };
    for (const name of ["attestationObject", "authenticatorData", "signature", "userHandle"]) {
      const value = credential.response[name];
      if (value) response[name] = text(value);
    }
    const { id, type } = credential;
    return { id, rawId: id, type, response, clientExtensionResults: {} };
  }

  function lacksSomething(form) {
    const typed = form.querySelectorAll("input[data-passkey-needs], [data-passkey-needs] input");
    return [...typed].some((input) => !input.value);
  }

  document.addEventListener("click", async (event) => {
    const button = event.target.closest("button[data-passkey]");
    if (!button) return;
    const form = button.form;
    const refused = form.querySelector("[data-passkey-refused]");
    if (refused) refused.hidden = true;
    // The server says what is missing before the device is asked.
    if (lacksSomething(form)) return form.requestSubmit();
    button.disabled = true;
    try {
      const publicKey = await asked(button.dataset.passkey, form);
      const makes = "user" in publicKey;
      const credential = await navigator.credentials[makes ? "create" : "get"]({ publicKey });
      form.elements.passkey.value = JSON.stringify(said(credential));
      form.requestSubmit();
    } catch {
      if (refused) refused.hidden = false;
    } finally {
      button.disabled = false;
    }
  });

  document.documentElement.classList.add("knows-passkeys");
})();
