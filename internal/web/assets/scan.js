// Reads a barcode or QR through the camera, where the browser can: the button stays
// hidden everywhere else, and typing does the same.
(function () {
  "use strict";
  if (!window.BarcodeDetector || !navigator.mediaDevices || !navigator.mediaDevices.getUserMedia) { return; }
  var stream = null, timer = 0, began = 0;
  function show() {
    document.querySelectorAll("[data-scan]").forEach(function (b) { b.hidden = false; });
  }
  function parts() {
    var view = document.querySelector("[data-scan-view]");
    return view ? { view: view, video: view.querySelector("video"), says: view.querySelector("[role=status]") } : null;
  }
  function stop() {
    window.clearTimeout(timer);
    if (stream) { stream.getTracks().forEach(function (t) { t.stop(); }); }
    stream = null;
    var p = parts();
    if (p) { p.view.hidden = true; p.video.srcObject = null; }
  }
  function take(text) {
    stop();
    var into = document.querySelector("[data-scan-into]");
    if (!into) { return; }
    into.value = text.slice(0, into.maxLength > 0 ? into.maxLength : 120);
    into.form.requestSubmit();
  }
  function look(detector, p) {
    if (!stream) { return; }
    detector.detect(p.video).then(function (codes) {
      if (codes.length && codes[0].rawValue) { take(codes[0].rawValue.trim()); return; }
      if (Date.now() - began > 30000) { p.says.textContent = "No code was read. Type the number instead."; stop(); return; }
      timer = window.setTimeout(function () { look(detector, p); }, 200);
    }).catch(function () { timer = window.setTimeout(function () { look(detector, p); }, 400); });
  }
  function start() {
    var p = parts();
    if (!p) { return; }
    navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false }).then(function (s) {
      stream = s;
      began = Date.now();
      p.view.hidden = false;
      p.video.srcObject = s;
      return p.video.play().then(function () { look(new window.BarcodeDetector(), p); });
    }).catch(function () {
      p.view.hidden = false;
      p.says.textContent = "The camera cannot be used here. Type the number instead.";
    });
  }
  document.addEventListener("click", function (e) {
    var t = e.target.closest ? e.target.closest("[data-scan],[data-scan-stop]") : null;
    if (!t) { return; }
    if (t.hasAttribute("data-scan-stop")) { stop(); } else if (stream) { stop(); } else { start(); }
  });
  document.addEventListener("htmx:afterSwap", show);
  window.addEventListener("pagehide", stop);
  show();
})();
