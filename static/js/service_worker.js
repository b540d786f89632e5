/*
 * Keeps the product's own looks, and one page for when there is no network. Nothing else: no
 * page of the salon, no answer of the server, is ever written to this device, so a person who
 * is signed out finds nothing here. Served by salon/home_screen.py, which sets self.KEPT.
 */
(function () {
  "use strict";
  const {
    cache: NAME,
    offline: OFFLINE,
    needs: NEEDS,
    static: STATIC,
    versioned: VERSIONED,
  } = self.KEPT;
  const HASHED = /\.[0-9a-f]{12}\.[a-z0-9]+$/;

  self.addEventListener("install", (event) => {
    event.waitUntil(
      (async () => {
        const cache = await caches.open(NAME);
        // Without cookies: the page is drawn for nobody, in the language of the browser.
        await cache.add(new Request(OFFLINE, { credentials: "omit", cache: "reload" }));
        await cache.addAll(NEEDS.map((path) => new Request(path, { credentials: "omit" })));
        await self.skipWaiting();
      })(),
    );
  });

  self.addEventListener("activate", (event) => {
    event.waitUntil(
      (async () => {
        const names = await caches.keys();
        await Promise.all(names.filter((name) => name !== NAME).map((name) => caches.delete(name)));
        await self.clients.claim();
      })(),
    );
  });

  async function keep(request, answer) {
    if (!answer.ok || answer.type !== "basic" || answer.redirected) return;
    const cache = await caches.open(NAME);
    await cache.put(request, answer);
  }

  async function fromKeptFirst(event) {
    const kept = await caches.match(event.request);
    if (kept) return kept;
    const answer = await fetch(event.request);
    event.waitUntil(keep(event.request, answer.clone()));
    return answer;
  }

  async function fromNetworkFirst(event) {
    try {
      const answer = await fetch(event.request);
      event.waitUntil(keep(event.request, answer.clone()));
      return answer;
    } catch (failure) {
      const kept = await caches.match(event.request);
      if (kept) return kept;
      throw failure;
    }
  }

  async function navigate(request) {
    // Back to the answer of a form: the browser may not send the form again by itself, and its
    // own copy is not kept. The page that holds the form is asked for instead.
    const isReturn = request.cache === "only-if-cached" || request.isHistoryNavigation;
    if (request.method === "POST" && isReturn) return Response.redirect(request.url, 303);
    try {
      return await fetch(request);
    } catch (failure) {
      const kept = await caches.match(OFFLINE);
      if (!kept) throw failure;
      if (request.method === "GET") return kept;
      // A form that did not arrive is not sent again by itself: the page says so.
      const text = (await kept.text()).replace('data-sent="page"', 'data-sent="form"');
      return new Response(text, { headers: { "Content-Type": "text/html; charset=utf-8" } });
    }
  }

  self.addEventListener("fetch", (event) => {
    const { request } = event;
    const address = new URL(request.url);
    if (address.origin !== self.location.origin) return;
    if (request.mode === "navigate") {
      event.respondWith(navigate(request));
    } else if (request.method === "GET" && address.pathname.startsWith(STATIC) && !address.search) {
      if (!VERSIONED) event.respondWith(fromNetworkFirst(event));
      else if (HASHED.test(address.pathname)) event.respondWith(fromKeptFirst(event));
    }
  });
})();
