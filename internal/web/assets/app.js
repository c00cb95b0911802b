// Glue for the pages: what changed elsewhere is fetched again, and forms that a
// person uses with gloves on behave. Every page works without it.
(function () {
  "use strict";
  var source = null, latest = 0, fetched = 0, waiting = 0, placing = false;

  // shown are the newest events that the pieces of the page show: a piece that an answer
  // left out is behind the others until the page is fetched again.
  function shown() {
    return Array.from(document.querySelectorAll("[data-seq]")).map(function (e) {
      return Number(e.getAttribute("data-seq")) || 0;
    });
  }
  function known() { return Math.max.apply(null, shown().concat(0)); }

  function check() {
    waiting = 0;
    var pieces = shown();
    latest = Math.max.apply(null, pieces.concat(latest));
    // What was fetched once for a change is not fetched again for the same one.
    if (!pieces.length || latest <= Math.max(fetched, Math.min.apply(null, pieces))) { return; }
    // An answer on its way may bring the change along.
    if (placing || sending || document.querySelector(".htmx-request")) { later(80); return; }
    // Nobody's half-written reason is taken away.
    if (document.activeElement && document.activeElement.name === "why") { later(1000); return; }
    fetched = latest;
    document.body.dispatchEvent(new CustomEvent("changed"));
  }

  function later(ms) {
    if (!waiting) { waiting = window.setTimeout(check, ms); }
  }

  function open() {
    var where = document.body.getAttribute("data-events");
    if (source || !where || document.hidden) { return; }
    source = new EventSource(where + "?after=" + known());
    source.addEventListener("changed", function (e) {
      latest = Math.max(latest, Number(e.data) || 0);
      later(30);
    });
    source.addEventListener("open", function () { linked(true); });
    source.addEventListener("error", function () {
      linked(false);
      // A browser gives a stream up for good that was refused once; this page does not.
      if (source && source.readyState === 2) { close(); window.setTimeout(open, 2000); }
    });
  }

  function linked(is) { document.dispatchEvent(new CustomEvent("link", { detail: { open: is } })); }

  // A browser allows six connections to a host: a page that nobody looks at gives
  // its own back.
  function close() {
    if (source) { source.close(); source = null; }
  }

  // The name of an entry is made here, so that the same press sent twice counts once
  // and a page that comes back from the browser's memory does not use an old one.
  function key() {
    var bytes = new Uint8Array(16), text = "";
    window.crypto.getRandomValues(bytes);
    bytes.forEach(function (b) { text += (b < 16 ? "0" : "") + b.toString(16); });
    return text;
  }
  function name(root) {
    root.querySelectorAll("input[name=key]").forEach(function (i) { i.value = key(); });
  }

  function focus() {
    var field = document.querySelector("input.reading");
    if (field && field.hasAttribute("data-select")) { field.select(); }
  }

  document.addEventListener("visibilitychange", function () {
    if (document.hidden) { close(); } else { open(); }
  });
  window.addEventListener("pagehide", close);
  window.addEventListener("pageshow", function (e) {
    if (e.persisted) { name(document); open(); later(0); }
  });
  document.addEventListener("htmx:sendError", function (e) {
    fetched = 0;
    var place = document.getElementById("trouble"), says = document.getElementById("unreachable");
    if (e.detail.elt && e.detail.elt.tagName === "FORM") { place.replaceChildren(says.content.cloneNode(true)); }
  });

  // What the last digits will be read as stands under the field while they are typed; the
  // server does the same (digits.go).
  function whole(text, near, decimals) {
    var places = Math.pow(10, text.length), below = near - near % places + Number(text), steps;
    if (below > near) { below -= places; }
    if (below >= 0 && near - below === below + places - near) { return ""; }
    steps = below < 0 || below + places - near < near - below ? below + places : below;
    return (steps / Math.pow(10, decimals)).toFixed(decimals);
  }
  document.addEventListener("input", function (e) {
    var asked = document.getElementById("asked"), says = document.querySelector("#enter-says > span"), box = document.querySelector("input[name=digits]"), field = document.querySelector("input.reading");
    if (!field || !asked || !says || !box || (e.target !== field && e.target !== box)) { return; }
    var near = Number(asked.getAttribute("data-near")), decimals = Number(asked.getAttribute("data-decimals")), text = field.value.trim();
    if (!says.hasAttribute("data-was")) { says.setAttribute("data-was", says.textContent); }
    var full = box.checked && /^[0-9]+$/.test(text) && text.length <= decimals ? whole(text, near, decimals) : "";
    field.setAttribute("data-whole", full);
    says.textContent = full ? "Enter keeps " + full : says.getAttribute("data-was");
  });

  // A gauge with a cable types like a keyboard, and ends with Enter or Tab; it does not
  // look where the cursor is.
  var typedAt = 0, burst = 0;
  document.addEventListener("keydown", function (e) {
    var field = document.querySelector("input.reading"), at = e.timeStamp;
    if (!field || e.ctrlKey || e.altKey || e.metaKey) { return; }
    burst = at - typedAt < 35 ? burst + 1 : 0;
    typedAt = at;
    if (e.key === "Tab" && burst >= 3 && document.activeElement === field) {
      e.preventDefault();
      field.form.requestSubmit();
    } else if (/^[0-9.+-]$/.test(e.key) && (document.activeElement === document.body || document.activeElement.tagName === "A")) {
      field.focus();
    }
  });

  // What a person unfolded stays unfolded when the page is fetched again.
  var unfolded = [];
  function heads() { return Array.from(document.querySelectorAll(".more > summary")); }
  function called(head) { return head.getAttribute("data-as") || head.textContent; }
  document.addEventListener("htmx:beforeSwap", function () {
    unfolded = heads().filter(function (s) { return s.parentNode.open; }).map(called);
  });
  // An answer to a typed reading is pieces of the page, each for the element with its
  // id. They are put in place here, because the many events of a swap by htmx cost a slow
  // phone more than all the rest. The field stays, so that the phone keeps its keyboard:
  // it is emptied for the next reading, or what was typed is marked to be put right.
  function answered(text) {
    var pieces = document.createElement("template"), field = document.querySelector("input.reading"), phase = document.querySelector("select[name=phase]");
    pieces.innerHTML = text;
    Array.from(pieces.content.children).forEach(function (piece) {
      var old = document.getElementById(piece.id);
      if (!old) { return; }
      if (piece.hasAttribute("data-inner")) {
        if (old.textContent !== piece.textContent) { old.replaceChildren.apply(old, piece.childNodes); }
      } else {
        old.replaceWith(piece);
      }
    });
    var asked = document.getElementById("asked");
    name(asked);
    if (document.activeElement !== field) { field.focus(); }
    if (asked.hasAttribute("data-taken")) {
      field.value = "";
      field.placeholder = asked.getAttribute("data-says");
      if (phase) { phase.value = ""; }
    } else {
      field.select();
    }
    placing = true;
    window.setTimeout(function () {
      placing = false;
      follow();
      window.htmx.process(document.getElementById("map"));
      later(60);
    }, 30);
  }
  // A typed reading is sent from here for the same reason.
  var sending = null;
  document.addEventListener("submit", function (e) {
    var form = e.target, body;
    if (!form.hasAttribute("data-quick") || e.defaultPrevented) { return; }
    e.preventDefault();
    if (sending) { sending.abort(); }
    var mine = sending = new AbortController();
    body = new URLSearchParams(new FormData(form));
    if (e.submitter && e.submitter.name) { body.append(e.submitter.name, e.submitter.value); }
    window.fetch(form.action, { method: "POST", headers: { "HX-Request": "true" }, body: body, signal: mine.signal }).then(function (r) {
      return r.text().then(function (text) {
        if (sending === mine) { sending = null; }
        if (r.ok || r.status === 409 || r.status === 422) { answered(text); return; }
        var says = new DOMParser().parseFromString(text, "text/html").getElementById("says");
        if (says) { document.getElementById("trouble").replaceChildren(document.importNode(says, true)); } else { location.reload(); }
      });
    }).catch(function (reason) {
      if (reason.name === "AbortError") { return; }
      sending = null;
      form.dispatchEvent(new CustomEvent("htmx:sendError", { bubbles: true, detail: { elt: form } }));
    });
  });

  // The address follows the lit cell, so that loading again comes back to it.
  function follow() {
    var map = document.getElementById("map"), here = map && map.getAttribute("hx-get");
    if (here && here !== location.pathname + location.search) { history.replaceState(null, "", here); }
  }
  document.addEventListener("htmx:afterSwap", function () {
    follow();
    heads().forEach(function (s) {
      if (unfolded.indexOf(called(s)) >= 0) { s.parentNode.open = true; }
    });
  });
  document.addEventListener("htmx:afterSettle", function (e) {
    if (e.target.querySelectorAll) { name(e.target); }
    focus();
    later(60);
  });
  name(document);
  focus();
  open();
})();
