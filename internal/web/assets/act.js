// Glue for the pages on which work is done: a press that is held, a clicker that presses,
// a screen that stays awake. Every page works without it.
(function () {
  "use strict";
  var second = 900, between = 600, lock = null, sent = 0;

  // A button that writes what a hand did is held for a second; letting go early does
  // nothing. By keyboard it is pressed twice: once to arm it, once more to write.
  function drop(button) {
    window.clearTimeout(button.timer);
    button.timer = 0;
    button.classList.remove("holding");
  }
  function send(button) {
    drop(button);
    if (Date.now() - sent < between) { return; }
    sent = Date.now();
    button.ready = true;
    if (button.form.requestSubmit) { button.form.requestSubmit(button); } else { button.click(); }
    button.ready = false;
    if (window.navigator.vibrate) { window.navigator.vibrate(40); }
  }
  function holdOf(e) { return e.target.closest ? e.target.closest("[data-hold]") : null; }
  document.addEventListener("pointerdown", function (e) {
    var button = holdOf(e);
    if (!button || e.button) { return; }
    button.classList.add("holding");
    button.timer = window.setTimeout(function () { send(button); }, second);
  });
  ["pointerup", "pointercancel", "pointerout"].forEach(function (name) {
    document.addEventListener(name, function (e) {
      var button = holdOf(e);
      if (button && button.timer && !(name === "pointerout" && button.contains(e.relatedTarget))) { drop(button); }
    });
  });
  document.addEventListener("contextmenu", function (e) { if (holdOf(e)) { e.preventDefault(); } });
  document.addEventListener("click", function (e) {
    var button = holdOf(e);
    if (!button || button.ready) { return; }
    e.preventDefault();
    if (e.detail > 0) { return; }
    if (button.hasAttribute("data-anykey") || button.classList.contains("armed")) { send(button); return; }
    arm(button, true);
  }, true);
  function arm(button, is) {
    var says = button.querySelector(".holds");
    button.classList.toggle("armed", is);
    if (says) { says.textContent = is ? "Press again: " : "Press and hold: "; }
  }
  document.addEventListener("focusout", function (e) { var b = holdOf(e); if (b && b.classList.contains("armed")) { arm(b, false); } });

  // Any key, clicker or foot switch is a press, unless a person is writing or walking
  // through the page with the keyboard.
  var quiet = ["Tab", "Shift", "Control", "Alt", "Meta", "Escape", "CapsLock", "F5", "F11", "F12"];
  document.addEventListener("keydown", function (e) {
    var armed = document.querySelector("button.armed");
    if (e.key === "Escape" && armed) { arm(armed, false); return; }
    var button = document.querySelector("[data-anykey]");
    if (!button || e.repeat || e.ctrlKey || e.altKey || e.metaKey || quiet.indexOf(e.key) >= 0) { return; }
    var at = document.activeElement;
    if (at && at !== button && at !== document.body && at.matches("input,select,textarea,a,button,summary,[tabindex]")) { return; }
    e.preventDefault();
    send(button);
  });

  // The screen stays awake while the wrench is in hand.
  function awake() {
    if (!document.querySelector("[data-wrench]") || document.hidden || !navigator.wakeLock || lock) { return; }
    navigator.wakeLock.request("screen").then(function (l) {
      lock = l;
      document.body.setAttribute("data-awake", "true");
      l.addEventListener("release", function () { lock = null; document.body.removeAttribute("data-awake"); });
    }).catch(function () { lock = null; });
  }
  document.addEventListener("visibilitychange", awake);
  awake();
  // Without the computer the page goes on by itself: what was pressed is kept on this
  // device, and the press after it is shown.
  document.addEventListener("outbox:kept", function (e) {
    var form = e.target, list = form.getAttribute && form.getAttribute("data-ahead");
    if (!list) { return; }
    list = JSON.parse(list);
    var next = list.shift(), live = document.getElementById("live"), button = form.querySelector("button");
    function say(selector, text) {
      var at = live.querySelector(selector);
      if (at && text) { at.textContent = text; }
    }
    if (!next) {
      var done = document.createElement("p");
      done.className = "held";
      done.textContent = "All of it is on this phone, to send.";
      form.replaceWith(done);
      return;
    }
    say("h1", next.title);
    say(".giant .fig", next.figure);
    say(".giant .unit", next.unit);
    say(".giant .other", next.other);
    form.setAttribute("data-ahead", JSON.stringify(list));
    form.setAttribute("data-outbox", JSON.stringify(next.event));
    Object.keys(next.event).forEach(function (name) {
      var field = form.querySelector("input[type=hidden][name='" + name + "']");
      if (!field) {
        field = document.createElement("input");
        field.type = "hidden";
        field.name = name;
        form.append(field);
      }
      field.value = next.event[name];
    });
    var holds = button.querySelector(".holds");
    if (holds) {
      var small = button.querySelector("small");
      holds.nextSibling.textContent = next.says;
      if (small) { small.textContent = next.then || ""; }
    } else { button.textContent = next.says; }
    // The picture shows the pass before; without the computer it cannot be drawn anew.
    live.querySelectorAll(".pat,.lad").forEach(function (p) { p.hidden = true; });
  });
})();
