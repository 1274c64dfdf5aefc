// Keeps airframes on the device, each whole or not at all, and shows them without a network.
//
// A kept airframe is a cache of its own, named after its folder and its revision, and holds every
// file that its list names, shared ones included. The list itself is written last: a cache without
// its list is not whole. Which revision is shown is written in one more cache. A newer one is
// copied to a cache of its own, and shown when it is whole and nobody reads the old one, or when the
// reader chooses it.
"use strict";

var root = self.registration.scope;
var NOTES = root + "#notes";
var AT_ONCE = 6;
var PACKED = "X-Packed";
var busy = {};

self.addEventListener("install", function (event) { event.waitUntil(self.skipWaiting()); });
self.addEventListener("activate", function (event) { event.waitUntil(self.clients.claim()); });

function cacheName(folder, revision) { return root + "#" + folder + "@" + revision; }

function folderOf(address) {
  if (!address || address.indexOf(root) !== 0) return "";
  var below = new URL(address).pathname.slice(new URL(root).pathname.length);
  return below.indexOf("/") > 0 ? below.slice(0, below.indexOf("/")) : "";
}

async function noted(key) {
  var entry = await (await caches.open(NOTES)).match(root + "notes/" + key);
  return entry ? entry.text() : "";
}

async function note(key, value) {
  var notes = await caches.open(NOTES);
  if (value) await notes.put(root + "notes/" + key, new Response(value));
  else await notes.delete(root + "notes/" + key);
}

async function listIn(folder, revision) {
  if (!revision) return null;
  var entry = await caches.match(root + folder + "/files.json", {
    cacheName: cacheName(folder, revision)
  });
  return entry ? entry.json() : null;
}

async function readers(folder) {
  var all = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
  return all.filter(function (client) { return folderOf(client.url) === folder; });
}

async function notify(folder, news) {
  news.folder = folder;
  (await readers(folder)).forEach(function (client) { client.postMessage(news); });
}

async function digest(data) {
  var sum = new Uint8Array(await crypto.subtle.digest("SHA-256", data));
  return Array.from(sum, function (byte) { return byte.toString(16).padStart(2, "0"); }).join("");
}

// What is text is kept compressed, where the browser can: it takes a fifth of the room.
function packs(response) {
  var type = response.headers.get("Content-Type") || "";
  return self.CompressionStream && !response.headers.has(PACKED) && /^text\/|json|javascript|svg/.test(type);
}

function withBody(response, stream, how) {
  var headers = new Headers(response.headers);
  ["Content-Encoding", "Content-Length", PACKED].forEach(function (name) { headers.delete(name); });
  if (how) headers.set(PACKED, how);
  return new Response(response.body.pipeThrough(stream), { headers: headers });
}

function packed(response) {
  return packs(response) ? withBody(response, new CompressionStream("gzip"), "gzip") : response;
}

function unpacked(response) {
  var how = response.headers.get(PACKED);
  return how ? withBody(response, new DecompressionStream(how)) : response;
}

// About what the files of a list take on the device.
function bytesOf(list) { return self.CompressionStream ? list.bytes / 5 : list.bytes; }

// Copy one file: from what is kept already where it is the same, else from the network, and only
// if it is the file that the list means.
async function copy(path, sum, old, oldSums, cache) {
  var address = root + path;
  if (await cache.match(address)) return;
  var response = oldSums[path] === sum && old && await old.match(address);
  if (!response) {
    response = await fetch(address, { cache: "no-cache" });
    if (!response.ok) throw new Error("network");
    var data = await response.clone().arrayBuffer();
    if ((await digest(data)).slice(0, sum.length) !== sum) throw new Error("changed");
  }
  await cache.put(address, packed(response));
}

// What a page asks first: what is kept, or else how much there would be to keep.
async function state(folder) {
  if (await listIn(folder, await noted(folder))) return keep(folder);
  var answer = await fetch(root + folder + "/files.json", { cache: "no-cache" });
  if (!answer.ok) throw new Error("network");
  await notify(folder, { state: "none", bytes: bytesOf(await answer.json()) });
}

async function keep(folder) {
  var current = await noted(folder);
  var kept = await listIn(folder, current);
  if (kept) await notify(folder, { state: "kept", says: kept.says, bytes: bytesOf(kept) });
  var newer = kept && await listIn(folder, await noted(folder + "/next"));
  if (newer) await notify(folder, { state: "newer", says: newer.says, shown: kept.says });
  var answer = await fetch(root + folder + "/files.json", { cache: "no-cache" });
  if (!answer.ok) throw new Error("network");
  var list = await answer.clone().json();
  if (kept && list.revision === kept.revision) {
    await note(folder + "/next", "");
    return;
  }
  var name = cacheName(folder, list.revision);
  if (!await listIn(folder, list.revision)) {
    var cache = await caches.open(name);
    var old = kept ? await caches.open(cacheName(folder, current)) : null;
    var sums = {};
    (kept ? kept.files : []).forEach(function (file) { sums[file[0]] = file[1]; });
    var waiting = list.files.slice();
    var done = 0;
    var copying = Array.from({ length: AT_ONCE }, async function () {
      while (waiting.length) {
        var file = waiting.shift();
        try {
          await copy(file[0], file[1], old, sums, cache);
        } catch (error) {
          waiting = [];
          throw error;
        }
        if (++done % 20 === 0) {
          await notify(folder, {
            state: "copying", done: done, of: list.files.length, says: list.says, bytes: bytesOf(list)
          });
        }
      }
    });
    var ends = await Promise.allSettled(copying);
    var failed = ends.find(function (end) { return end.status === "rejected"; });
    if (failed) {
      if (failed.reason.message === "changed") await caches.delete(name);
      throw failed.reason;
    }
    await cache.put(root + folder + "/files.json", answer);
  }
  if (!kept) {
    await show(folder, list.revision);
    await notify(folder, { state: "kept", says: list.says, bytes: bytesOf(list), fresh: true });
  } else {
    await note(folder + "/next", list.revision);
    await notify(folder, { state: "newer", says: list.says, shown: kept.says });
  }
}

// Show a revision that is whole, and let go of every other.
async function show(folder, revision) {
  await note(folder, revision);
  await note(folder + "/next", "");
  await note("latest", folder);
  var names = await caches.keys();
  await Promise.all(names.filter(function (name) {
    return name.indexOf(root + "#" + folder + "@") === 0 && name !== cacheName(folder, revision);
  }).map(function (name) { return caches.delete(name); }));
}

async function forget(folder) {
  await note(folder, "");
  await show(folder, "");
  await note("latest", "");
  await notify(folder, { state: "forgotten" });
}

function why(error) {
  if (error.name === "QuotaExceededError") return "full";
  return error.message === "changed" ? "changed" : "network";
}

self.addEventListener("message", function (event) {
  var folder = event.data.folder;
  var work = { keep: keep, state: state }[event.data.ask];
  if (work && !busy[folder]) {
    busy[folder] = true;
    event.waitUntil(work(folder).catch(function (error) {
      return notify(folder, { state: "stopped", why: why(error) });
    }).then(function () { busy[folder] = false; }));
  } else if (event.data.ask === "show") {
    event.waitUntil(noted(folder + "/next").then(async function (next) {
      if (await listIn(folder, next)) await show(folder, next);
      await notify(folder, { state: "reload" });
    }));
  } else if (event.data.ask === "forget") {
    event.waitUntil(forget(folder));
  }
});

async function answer(event) {
  var request = event.request;
  var url = new URL(request.url);
  var address = url.origin + url.pathname;
  if (address.slice(-1) === "/") address += "index.html";
  // Shared files come with the page that asks for them; the site's front page with what was kept last.
  var folder = folderOf(address) || folderOf(request.referrer);
  if (!folder || !folderOf(address) && request.mode === "navigate") folder = await noted("latest");
  if (request.mode === "navigate" && folder) {
    var next = await noted(folder + "/next");
    if (next && !(await readers(folder)).length && await listIn(folder, next)) {
      await show(folder, next);
    }
  }
  var revision = folder && await noted(folder);
  var response = revision && await caches.match(address, { cacheName: cacheName(folder, revision) });
  return response ? unpacked(response) : fetch(request).catch(function (error) {
    if (request.mode === "navigate") return notKept();
    throw error;
  });
}

// In place of the browser's own page about a network that is not there.
function notKept() {
  return new Response(
    "<!doctype html><html lang=en><meta charset=utf-8><meta name=viewport content='width=device-width'>" +
    "<meta http-equiv=Content-Security-Policy content=\"default-src 'none'; style-src 'self'\">" +
    "<title>Not kept on this device</title><link rel=stylesheet href='" + root + "palette.css'>" +
    "<link rel=stylesheet href='" + root + "style.css'><main><h1>Not kept on this device</h1>" +
    "<p>There is no network now, and this page is not among those kept here. The airframes that were kept open from " +
    "<a href='" + root + "index.html'>the front page</a>.</p></main></html>",
    { status: 503, headers: { "Content-Type": "text/html" } }
  );
}

self.addEventListener("fetch", function (event) {
  var url = event.request.url;
  if (event.request.method !== "GET" || url.indexOf(root) !== 0) return;
  event.respondWith(answer(event));
});
