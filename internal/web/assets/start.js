// The first start: one word, a stopwatch, and what stops it. What is written when it
// stops says how long it ran and why it ended.
(function () {
  "use strict";
  var box = document.getElementById("run"), word = document.getElementById("word"), watch = document.getElementById("watch");
  var button = document.getElementById("runs"), form = document.getElementById("runform"), text = document.getElementById("runtext");
  if (!box) { return; }
  var longest = Number(box.getAttribute("data-longest")), pressure = Number(box.getAttribute("data-pressure"));
  var began = 0, ended = 0, timer = 0;
  function seconds() { return began ? Math.floor(((ended || Date.now()) - began) / 1000) : 0; }
  function show() {
    var s = seconds();
    watch.textContent = Math.floor(s / 60) + ":" + (s % 60 < 10 ? "0" : "") + s % 60;
    var says = !began ? word.textContent.trim() : ended ? "STOPPED" : s >= longest ? "STOP" : s < pressure ? "PRESSURE?" : "RUNS";
    if (word.textContent.trim() !== says) { word.textContent = says; }
    word.className = "word" + (says === "STOP" || says === "STOPPED" ? " bad" : says === "PRESSURE?" ? " ask" : "");
  }
  function stop(why) {
    if (began && !ended) { ended = Date.now(); }
    window.clearInterval(timer);
    text.value = "Run " + text.getAttribute("data-run") + ": " + seconds() + " s" + (why ? ", stopped: " + why : ", stopped, all well");
    word.className = "word bad";
    word.textContent = "STOP";
  }
  button.addEventListener("click", function () {
    if (!began) {
      began = Date.now();
      button.textContent = "STOP";
      timer = window.setInterval(show, 200);
      show();
      return;
    }
    stop("");
    form.requestSubmit();
  });
  form.addEventListener("click", function (e) {
    var b = e.target.closest("[data-stop]");
    if (b) { stop(b.getAttribute("data-stop")); }
  });
})();
