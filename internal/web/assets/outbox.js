// The outbox: what is entered while the shop's computer cannot be reached waits on this
// device, in order, and is delivered exactly once.
//
// A form takes part by saying what it would write into the journal. Without scripts, and
// as long as the computer answers, it is an ordinary form and goes to its own action.
//
//   <form method="post" action="…" data-outbox='{"kind":"check","of":"tappet_face","place":"front inlet"}'
//         data-outbox-says="Tappet face, front inlet">
//     <input type="hidden" name="token" value="…">
//     <input type="hidden" name="key" value="…">      the id of the event, made anew here
//     <input name="note" data-event="note">
//     <button name="answer" value="polished" data-event="answer">Polished</button>
//
//   data-outbox        the event as JSON, without id, at and by (docs/journal-format.md)
//   data-outbox-says   what a person calls it, in the list of what is to be sent
//   <template data-outbox-next>  in #live: the page as it stands after a torque press, and
//                      after the one after it: a pattern goes on without asking
//   data-outbox-job    the job, where it is not the one of the page (body data-job)
//   data-event="f"     on a field: its value becomes field f of the event when it is not
//                      empty; "cell.position" goes into an object. A button counts only
//                      when it was pressed, a box only when it is ticked.
//   data-unit="mm"     a bare number gets this unit behind it, as the server does
//   data-type          "number" or "true": what kind of JSON value it becomes
//   data-outbox-each   on fields of a form that writes several events: each is one, in their
//                      order, a box only when it is ticked; data-why names the field of the
//                      event that takes what was written as the reason, data-at the field
//                      of the form that says when
//
// The action must write the same event under the same key, so that a form of which nobody
// knows whether it arrived can be delivered again: the server compares, and it counts once.
//
// Events on the document: "outbox:kept" when a form was kept here, with the form as target
// and the entry as detail; "outbox:sent" when all was delivered; "outbox:state". Scripts
// call window.outbox.add(job, event, says, blob) and window.outbox.count().
(function () {
  "use strict";
  var room = "entries", soon = 3000, patience = 8000, most = 50;
  var memory = null, flushing = false, again = false, timer = 0;
  var state = { down: navigator.onLine === false, waiting: 0, refused: 0, unpaired: false, started: false, ahead: 0 };
  var pressed = new WeakMap(), doubts = [];
  var channel = window.BroadcastChannel ? new BroadcastChannel("buttonup-outbox") : null;

  function key() {
    var bytes = new Uint8Array(16), text = "";
    window.crypto.getRandomValues(bytes);
    bytes.forEach(function (b) { text += (b < 16 ? "0" : "") + b.toString(16); });
    return text;
  }

  // Where entries wait: the browser's database, which outlives the page; where a browser
  // refuses one, the memory of this page, and the bar says so.
  var opened = null;
  function database() {
    if (!opened) {
      opened = new Promise(function (ok, no) {
        var r = window.indexedDB.open("buttonup-outbox", 1);
        r.onupgradeneeded = function () { r.result.createObjectStore(room, { keyPath: "n", autoIncrement: true }); };
        r.onsuccess = function () { ok(r.result); };
        r.onerror = function () { no(r.error); };
      });
    }
    return opened;
  }
  function within(mode, work) {
    return database().then(function (db) {
      return new Promise(function (ok, no) {
        var t, r;
        try { t = db.transaction(room, mode, { durability: "strict" }); } catch (e) { t = db.transaction(room, mode); }
        r = work(t.objectStore(room));
        t.oncomplete = function () { ok(r && r.result); };
        t.onerror = t.onabort = function () { no(t.error); };
      });
    });
  }
  function put(entry) {
    if (memory) { entry.n = memory.length ? memory[memory.length - 1].n + 1 : 1; memory.push(entry); return Promise.resolve(entry.n); }
    return within("readwrite", function (s) { return s.add(entry); }).catch(function () {
      memory = [];
      return put(entry);
    });
  }
  function all() {
    if (memory) { return Promise.resolve(memory.slice()); }
    return within("readonly", function (s) { return s.getAll(); }).catch(function () { memory = []; return []; });
  }
  function change(entry) {
    if (memory) { return Promise.resolve(); }
    return within("readwrite", function (s) { return s.put(entry); });
  }
  function remove(n) {
    if (memory) { memory = memory.filter(function (e) { return e.n !== n; }); return Promise.resolve(); }
    return within("readwrite", function (s) { return s.delete(n); });
  }

  // What a form would write.
  function eventOf(form, button) {
    var event = JSON.parse(form.getAttribute("data-outbox"));
    Array.from(form.elements).forEach(function (field) {
      var name = field.getAttribute("data-event"), value = (field.getAttribute("data-whole") || field.getAttribute("data-value") || field.value || "").trim();
      var isButton = field.tagName === "BUTTON" || field.type === "submit";
      if (!name || value === "" || field.disabled || isButton && field !== button) { return; }
      if ((field.type === "checkbox" || field.type === "radio") && !field.checked) { return; }
      var unit = field.getAttribute("data-unit"), type = field.getAttribute("data-type"), into = event, path = name.split(".");
      if (unit && /^[+\-−]?[\d.,/\s-]+$/.test(value)) { value = value + " " + unit; }
      if (type === "number") { value = Number(value); }
      if (type === "true") { value = true; }
      path.slice(0, -1).forEach(function (p) { into = into[p] = into[p] || {}; });
      into[path[path.length - 1]] = value;
    });
    return event;
  }

  // add keeps an entry on this device; the promise holds once it is safe.
  function add(job, event, says, blob, id) {
    var whole = { id: id || key(), at: new Date().toISOString() };
    Object.keys(event).forEach(function (k) { whole[k] = event[k]; });
    var entry = { id: whole.id, job: job, event: whole, says: says || event.kind, kept: whole.at };
    if (blob) { entry.blob = blob; }
    return put(entry).then(function (n) {
      entry.n = n;
      tell();
      flush();
      return entry;
    });
  }

  // earlier is the time of what was done before now: "40 min", "2 h" or "14:20".
  function earlier(form, button) {
    var field = button && button.name === "earlier" ? button : form.querySelector("input[name=earlier]");
    var says = field ? field.value.trim() : "", clock = /^(\d{1,2}):(\d\d)$/.exec(says), ago = /^([\d.]+)\s*(min|h|d)$/.exec(says), at = new Date();
    if (clock) {
      at.setHours(Number(clock[1]), Number(clock[2]), 0, 0);
      if (at > new Date()) { at.setDate(at.getDate() - 1); }
      return at;
    }
    return ago ? new Date(at - Number(ago[1]) * { min: 60000, h: 3600000, d: 86400000 }[ago[2]]) : null;
  }

  function keep(form, button) {
    var then = earlier(form, button);
    var field = form.querySelector("input[name=key]"), reading = form.querySelector("input.reading, input[data-event=value]");
    if (form.querySelector("[data-outbox-each]")) { return keepEach(form, then); }
    var event = eventOf(form, button), says = form.getAttribute("data-outbox-says") || "";
    if (window.slips) { event = window.slips.settled(form, event); }
    if (event.kind === "reading" && !event.value) { return Promise.resolve(null); }
    if (then) { event.at = then.toISOString(); event.late = true; }
    var what = event.value || event.answer || event.text || (event.state === undefined ? "" : event.state);
    var job = form.getAttribute("data-outbox-job") || document.body.getAttribute("data-job");
    return add(job, event, (says + " " + (what || "")).trim(), null, field && field.value.length >= 8 ? field.value : "").then(function (entry) {
      if (field) { field.value = key(); }
      if (reading) { reading.value = ""; reading.removeAttribute("data-whole"); }
      form.dispatchEvent(new CustomEvent("outbox:kept", { bubbles: true, detail: entry }));
      return entry;
    });
  }

  // keepEach keeps the events of a form that writes several, under its key and what the
  // server adds to it, so that a form that did arrive counts once.
  function keepEach(form, then) {
    var field = form.querySelector("input[name=key]"), why = form.querySelector("[name=why]"), job = form.getAttribute("data-outbox-job") || document.body.getAttribute("data-job");
    var base = field && field.value.length >= 8 ? field.value : key(), says = form.getAttribute("data-outbox-says") || "", last = Promise.resolve(null);
    Array.from(form.querySelectorAll("[data-outbox-each]")).filter(function (f) { return f.type !== "checkbox" || f.checked; }).forEach(function (f, i) {
      var event = JSON.parse(f.getAttribute("data-outbox-each")), at = f.getAttribute("data-at") && form.elements[f.getAttribute("data-at")], time = then;
      if (f.getAttribute("data-why") && why) { event[f.getAttribute("data-why")] = why.value.trim(); }
      if (at && at.value && !isNaN(Date.parse(at.value))) { time = new Date(at.value); }
      if (time) { event.at = time.toISOString(); event.late = true; }
      last = last.then(function () { return add(job, event, f.getAttribute("data-says") || says, null, i ? base + "-" + (i + 1) : base); });
    });
    return last.then(function (entry) {
      if (field) { field.value = key(); }
      if (entry) { form.dispatchEvent(new CustomEvent("outbox:kept", { bubbles: true, detail: entry })); }
      return entry;
    });
  }

  // The token that shows the server that a page of its own is asking. A page that was
  // kept on the device may hold an old one.
  var token = "";
  function tokenNow() {
    var field = document.querySelector("input[name=token]");
    return token || (field && field.value) || "";
  }
  function ask(address, options) {
    var stop = window.AbortController ? new AbortController() : null;
    var limit = stop && window.setTimeout(function () { stop.abort(); }, options && options.body instanceof Blob ? 60000 : patience);
    options = options || {};
    options.credentials = "same-origin";
    options.cache = "no-store";
    if (stop) { options.signal = stop.signal; }
    return window.fetch(address, options).finally(function () { window.clearTimeout(limit); });
  }
  function renew() {
    return ask("/token").then(function (r) {
      if (!r.ok) { return r; }
      return r.json().then(function (t) { token = t.token; ahead(t.now); return r; });
    });
  }
  // How far the clock of this device is off: an entry carries its time.
  function ahead(now) {
    var off = Date.now() - Date.parse(now);
    state.ahead = Math.abs(off) > 120000 ? Math.round(off / 60000) : 0;
  }
  function send(address, type, body) {
    function once() { return ask(address, { method: "POST", body: body, headers: { "Content-Type": type, "X-Buttonup-Token": tokenNow() } }); }
    return once().then(function (r) {
      if (r.status !== 403) { return r; }
      return renew().then(function (got) { return got.ok ? once() : got; });
    });
  }

  // flush delivers from the oldest on. Whatever goes wrong, what was not acknowledged
  // stays and is sent again: the id of an entry makes that safe.
  function flush() {
    if (flushing) { again = true; return Promise.resolve(); }
    flushing = true;
    again = false;
    window.clearTimeout(timer);
    return deliver().catch(function () { state.down = true; }).then(function () {
      flushing = false;
      return tell();
    }).then(function () {
      if (again && !state.down) { return flush(); }
      if (state.waiting && !state.unpaired) { timer = window.setTimeout(flush, soon); }
    });
  }
  function deliver() {
    return all().then(function (list) {
      list = list.filter(function (e) { return !e.refused; });
      if (!list.length) { return; }
      var head = list[0];
      if (head.blob && !head.event.sha256) { return photo(head).then(function (on) { return on && deliver(); }); }
      var batch = [];
      list.every(function (e) {
        var fits = e.job === head.job && (!e.blob || e.event.sha256) && batch.length < most;
        if (fits) { batch.push(e); }
        return fits;
      });
      var lines = batch.map(function (e) { return JSON.stringify(e.event); }).join("\n") + "\n";
      return send("/job/" + encodeURIComponent(head.job) + "/events", "application/x-ndjson", lines).then(function (r) {
        return outcome(r, batch).then(function (on) { return on && deliver(); });
      });
    });
  }
  // photo sends the picture before the entry that names it. The server says under which
  // name it is kept.
  function photo(entry) {
    return send("/photos", entry.blob.type || "image/jpeg", entry.blob).then(function (r) {
      if (r.status === 400 || r.status === 413 || r.status === 415 || r.status === 422) { return refuse(r, [entry]); }
      if (!r.ok) { return outcome(r, [entry]); }
      return r.json().then(function (a) {
        state.down = false;
        entry.event.sha256 = a.sha256;
        return change(entry).then(function () { return true; });
      });
    });
  }
  // outcome takes what the server said of a batch, and says whether to go on.
  function outcome(r, batch) {
    if (r.status === 401) { state.unpaired = true; state.down = false; return Promise.resolve(false); }
    if (r.status === 404 || r.status === 400 || r.status === 413) { return refuse(r, batch); }
    if (!r.ok) { state.down = r.status !== 429; return Promise.resolve(false); }
    return r.json().then(function (a) {
      state.down = state.unpaired = false;
      ahead(a.now);
      var work = Promise.resolve();
      batch.forEach(function (e, i) {
        var said = a.answers[i];
        if (!said || said.id && said.id !== e.id) { return; }
        work = work.then(function () {
          if (said.asks) { doubts.push({ says: said.asks, address: said.address }); }
          if (said.outcome === "kept" || said.outcome === "already") { return remove(e.n); }
          e.refused = said.says || "It was not kept.";
          return change(e);
        });
      });
      return work.then(function () { return a.answers.length > 0; });
    });
  }
  function refuse(r, batch) {
    return r.json().catch(function () { return {}; }).then(function (a) {
      state.down = false;
      batch[0].refused = a.says || "It was not kept: the computer answered " + r.status + ".";
      return change(batch[0]).then(function () { return true; });
    });
  }

  // The bar says what is not yet where it belongs.
  function count() {
    return all().then(function (list) { return list.filter(function (e) { return !e.refused; }).length; });
  }
  function tell(quiet) {
    return all().then(function (list) {
      var before = state.waiting;
      state.refused = list.filter(function (e) { return e.refused; }).length;
      state.waiting = list.length - state.refused;
      draw(list);
      if (!quiet && channel) { channel.postMessage("changed"); }
      document.dispatchEvent(new CustomEvent("outbox:state", { detail: state }));
      if (before && !state.waiting) { document.dispatchEvent(new CustomEvent("outbox:sent")); }
    });
  }
  function element(name, className, text) {
    var e = document.createElement(name);
    if (className) { e.className = className; }
    if (text) { e.textContent = text; }
    return e;
  }
  function sentence() {
    var n = state.waiting, kept = memory ? "in the memory of this page; keep it open until they are sent" : "";
    if (state.unpaired) { return "This device is no longer paired." + (n ? " On this phone: " + n + " to send, after it is paired again." : ""); }
    if (state.down) { return "Not connected. " + (n ? "On this phone: " + n + " to send" + (kept ? ", " + kept : "") + "." : "What you enter is kept on this phone and sent later."); }
    if (n) { return "On this phone: " + n + " to send" + (kept ? ", " + kept : "") + "."; }
    if (state.refused) { return state.refused === 1 ? "One entry was not taken." : state.refused + " entries were not taken."; }
    if (doubts.length) { return doubts.length === 1 ? "One reading that was sent looks like a slip." : doubts.length + " readings that were sent look like slips."; }
    if (state.ahead) { return "The clock of this phone is " + Math.abs(state.ahead) + " min " + (state.ahead > 0 ? "ahead of" : "behind") + " the shop's. Entries carry the phone's time."; }
    return "";
  }
  function draw(list) {
    var bar = document.getElementById("outbox"), says = sentence();
    if (!bar) {
      if (!says) { return; }
      bar = element("aside", "outbox");
      bar.id = "outbox";
      bar.setAttribute("aria-label", "What is to be sent");
      var line = element("p");
      line.setAttribute("role", "status");
      bar.append(line, element("details"));
      (document.querySelector("main") || document.body).prepend(bar);
    }
    bar.hidden = !says;
    bar.className = "outbox" + (state.refused || state.unpaired || doubts.length ? " bad" : state.down ? " off" : "");
    bar.setAttribute("data-waiting", state.waiting);
    bar.setAttribute("data-down", state.down ? "true" : "false");
    if (bar.firstChild.textContent !== says) { bar.firstChild.textContent = says; }
    var more = bar.lastChild;
    var all = list.length + doubts.length;
    more.hidden = !all;
    more.replaceChildren(element("summary", "", all === 1 ? "Show it" : "Show all " + all), entries(list));
  }
  function entries(list) {
    var ul = element("ul");
    ul.tabIndex = 0; // it scrolls, also by keys
    list.forEach(function (e) {
      var li = element("li"), text = element("span", "", e.says);
      text.append(element("small", "", e.refused || "at " + new Date(e.kept).toTimeString().slice(0, 5) + ", to send"));
      li.append(text);
      if (e.refused) {
        var b = element("button", "btn quiet", "Put it away");
        b.type = "button";
        b.addEventListener("click", function () { remove(e.n).then(tell); });
        li.append(b);
      }
      ul.append(li);
    });
    doubts.forEach(function (d) {
      var li = element("li"), a = element("a", "btn quiet", "Look at it");
      a.href = d.address;
      li.append(element("span", "", d.says), a);
      ul.append(li);
    });
    return ul;
  }

  // Forms. While the computer answers and nothing waits, a form goes its own way; htmx
  // sends its own forms, and app.js those of readings (data-quick). All else goes through the outbox, so that the order stays.
  document.addEventListener("submit", function (e) {
    var form = e.target;
    if (!form.hasAttribute || !form.hasAttribute("data-outbox")) { return; }
    pressed.set(form, e.submitter || null);
    if (state.down || state.waiting) {
      e.preventDefault();
      e.stopImmediatePropagation();
      if (!asks(form)) { keep(form, e.submitter); }
      return;
    }
    if (form.hasAttribute("hx-post") || form.hasAttribute("data-quick")) { return; }
    e.preventDefault();
    plain(form, e.submitter);
  }, true);
  // A reading that looks like a slip is asked about before it is kept here.
  function asks(form) { return form.id === "form" && !!window.slips && window.slips.asks(form); }
  function plain(form, button) {
    var body = new URLSearchParams(new FormData(form));
    if (button && button.name) { body.append(button.name, button.value); }
    ask(form.getAttribute("action"), { method: "POST", body: body }).then(function (r) {
      if (r.redirected) { window.location.assign(r.url); return null; }
      return r.text().then(function (text) {
        var page = new DOMParser().parseFromString(text, "text/html"), says = page.getElementById("says");
        var trouble = document.getElementById("trouble");
        if (says && trouble) { trouble.replaceChildren(document.importNode(says, true)); } else { window.location.reload(); }
      });
    }, function () {
      state.down = true;
      return keep(form, button);
    });
  }
  function failed(e) {
    var form = e.detail.elt;
    if (!form || !form.hasAttribute || !form.hasAttribute("data-outbox")) { return; }
    // The page's own word that nothing was kept would not be true here.
    e.stopImmediatePropagation();
    state.down = true;
    if (asks(form)) { tell(true); return; }
    keep(form, pressed.get(form));
  }
  window.addEventListener("htmx:sendError", failed, true);
  window.addEventListener("htmx:timeout", failed, true);

  // What is known of the connection: from the stream of changes (app.js), from the
  // browser, and from every attempt.
  function reached(is) {
    if (state.down === !is && !(is && state.waiting)) { return; }
    state.down = !is;
    if (is) { flush(); } else { tell(true); }
  }
  document.addEventListener("link", function (e) { reached(e.detail.open); });
  window.addEventListener("online", function () { flush(); });
  window.addEventListener("offline", function () { reached(false); });
  document.addEventListener("visibilitychange", function () { if (!document.hidden && state.waiting) { flush(); } });
  if (channel) { channel.onmessage = function () { tell(true); }; }
  window.addEventListener("pageshow", function () { tell(true); });

  // On the page of a reading the next cell is lit here, because the server cannot light it.
  function light(cell) {
    var asked = document.getElementById("asked"), title = document.querySelector("#entry-head h1"), field = document.querySelector("input.reading");
    document.querySelectorAll(".cell").forEach(function (c) { c.setAttribute("aria-current", c === cell ? "true" : "false"); });
    asked.querySelector("[name=at]").value = cell.getAttribute("data-at");
    asked.querySelector("[name=cell]").value = cell.getAttribute("data-label");
    ["position", "axis", "n"].forEach(function (k) { asked.querySelector("[data-event='cell." + k + "']").value = cell.getAttribute("data-" + k); });
    if (title) { title.textContent = title.textContent.split(":")[0] + ": " + cell.getAttribute("data-label"); }
    field.placeholder = "";
    field.focus();
    // What stood there spoke of the cell before.
    var facts = document.querySelector("#entry-head .lab"), hint = document.querySelector("#enter-says > span"), press = document.querySelector(".dock button");
    if (facts) { facts.textContent = facts.textContent.replace(/(reading )\d+( of \d+).*/, "$1" + (Number(cell.getAttribute("data-at")) + 1) + "$2"); }
    if (hint) { hint.textContent = "Enter keeps it on this phone"; }
    if (press) { press.textContent = "Keep on this phone"; }
  }
  document.addEventListener("outbox:kept", function (e) {
    var lit = document.querySelector(".cell[aria-current=true]"), cells = Array.from(document.querySelectorAll(".cell")), i, next;
    if (e.target.id !== "form" || !document.getElementById("asked")) { return; }
    if (lit) {
      lit.classList.add("waits");
      lit.classList.remove("empty");
      lit.querySelector("span:not(.vh)").textContent = e.detail.event.value.split(" ")[0];
      for (i = 1; i < cells.length && !next; i++) {
        var c = cells[(cells.indexOf(lit) + i) % cells.length];
        if (c.classList.contains("empty")) { next = c; }
      }
      light(next || lit);
    }
    var heard = document.getElementById("heard");
    if (heard) { heard.textContent = "Kept on this phone: " + e.detail.says; }
  });
  // Elsewhere the page stays as it was, so what was kept is not offered a second time by
  // mistake: the form rests until the computer answers and the page is fetched again.
  document.addEventListener("outbox:kept", function (e) {
    if (e.target.id === "form" || !e.target.elements || e.target.hasAttribute("data-ahead") || e.detail.event.kind === "note") { return; }
    // A page that knows how it goes on brings what comes next along.
    var live = document.getElementById("live"), next = live && live.querySelector("template[data-outbox-next]");
    if (e.detail.event.kind === "torque" && next) {
      var rest = Array.from(live.querySelectorAll("template[data-outbox-next]")).slice(1);
      live.replaceChildren(document.importNode(next.content, true));
      rest.forEach(function (t) { live.append(t); });
      live.querySelectorAll("input[name=key]").forEach(function (i) { i.value = key(); });
      live.setAttribute("data-ahead", "");
      if (window.htmx) { window.htmx.process(live); }
      return;
    }
    var p = element("p", "kept-here", "Kept on this phone, to be sent. This page goes on when the computer answers.");
    p.setAttribute("role", "status");
    Array.from(e.target.elements).forEach(function (f) { f.disabled = true; });
    e.target.append(p);
  });
  document.addEventListener("outbox:sent", function () {
    if (document.querySelector(".kept-here, [data-ahead]")) { window.location.reload(); }
  });
  document.addEventListener("click", function (e) {
    var cell = e.target.closest && e.target.closest(".cell"), back = e.target.closest && e.target.closest(".dock a[href*='at=']");
    if (back) { cell = document.querySelector(".cell[data-at='" + new URL(back.href).searchParams.get("at") + "']"); }
    if (cell && state.down && document.getElementById("asked")) { e.preventDefault(); light(cell); }
  });
  // What was lit here may be behind what the server knows: it is fetched when it answers.
  document.addEventListener("outbox:sent", function () {
    var lit = document.querySelector(".cell[aria-current=true]"), field = document.querySelector("input.reading");
    // Nobody's half-typed reading is taken away.
    if (lit && field && field.value === "" && document.querySelector(".cell.waits")) { window.location.assign(lit.href); }
  });

  // Over https a paired device keeps the pages that were opened, and those that lead on
  // from here, so that they open again without the shop's computer.
  function stay() {
    if (!window.isSecureContext || !navigator.serviceWorker || !document.body.getAttribute("data-device")) { return; }
    navigator.serviceWorker.register("/sw.js").then(function () { return navigator.serviceWorker.ready; }).then(function (r) {
      var links = Array.from(document.querySelectorAll('a[href^="/job/"]')).map(function (a) { return a.getAttribute("href").split("#")[0]; });
      // The main pages of the job first.
      links = Array.from(document.querySelectorAll("nav a")).map(function (a) { return a.getAttribute("href").split("#")[0]; }).concat(links);
      links.unshift(location.pathname + location.search);
      r.active.postMessage({ keep: links.filter(function (l, i) { return links.indexOf(l) === i; }) });
      if (navigator.storage && navigator.storage.persist) { navigator.storage.persist(); }
    }).catch(function () {});
  }
  window.addEventListener("load", function () { window.setTimeout(stay, 500); });

  window.outbox = { add: add, count: count, flush: flush, state: function () { return state; } };
  flush();
})();
