// Tapping the fasteners of a joint in the order in which they are tightened: on a plain
// ring, or on a photo of the real part that stays on this device.
(function () {
  "use strict";
  var pad = document.getElementById("pattern"), count = document.getElementById("fasteners"), file = document.getElementById("pattern-photo");
  var points = document.getElementById("points"), order = document.getElementById("order"), says = document.getElementById("pattern-says");
  if (!pad) { return; }
  var svgns = "http://www.w3.org/2000/svg", places = [], taps = [], picture = null;

  function plain(n) {
    var list = [];
    for (var i = 0; i < n; i++) {
      var a = Math.PI / 2 + Math.PI / n - 2 * Math.PI * i / n;
      list.push([Math.round(179 + 110 * Math.cos(a)), Math.round(150 - 110 * Math.sin(a))]);
    }
    return list;
  }
  function make(name, attributes, parent) {
    var e = document.createElementNS(svgns, name);
    Object.keys(attributes).forEach(function (k) { e.setAttribute(k, attributes[k]); });
    if (parent) { parent.append(e); }
    return e;
  }
  function draw() {
    var height = picture ? picture.height : 300;
    pad.replaceChildren();
    pad.hidden = !picture && !places.length;
    if (pad.hidden) { return; }
    if (picture) { pad.append(picture.canvas); }
    var svg = make("svg", { viewBox: "0 0 358 " + height, "class": "dr", role: "group", "aria-label": "Tap the fasteners in order" }, pad);
    if (picture) {
      make("rect", { width: 358, height: height, fill: "transparent" }, svg).addEventListener("click", function (e) {
        var box = svg.getBoundingClientRect(), x = (e.clientX - box.left) / box.width * 358, y = (e.clientY - box.top) / box.height * height;
        if (places.some(function (p) { return Math.hypot(p[0] - x, p[1] - y) < 20; })) { return; }
        places.push([x, y]);
        taps.push(places.length);
        keep();
      });
    }
    places.forEach(function (p, i) {
      var n = taps.indexOf(i + 1) + 1;
      var g = make("g", { tabindex: 0, role: "button", "aria-label": "Fastener " + (i + 1) + (n ? ", number " + n + " in the order" : ", not in the order yet"), "class": "pt" + (n ? " on" : "") }, svg);
      make("circle", { cx: p[0], cy: p[1], r: 26 }, g);
      if (n) { make("text", { x: p[0], y: p[1] + 8, "class": "m b mid t22" }, g).textContent = n; }
      function tap() {
        if (n) { taps.splice(n - 1, 1); if (picture) { remove(i); } } else { taps.push(i + 1); }
        keep();
      }
      g.addEventListener("click", function (e) { e.stopPropagation(); tap(); });
      g.addEventListener("keydown", function (e) { if (e.key === "Enter" || e.key === " ") { e.preventDefault(); tap(); } });
    });
  }
  function remove(i) {
    places.splice(i, 1);
    taps = taps.map(function (t) { return t > i + 1 ? t - 1 : t; });
  }
  function keep() {
    order.value = taps.length === places.length ? taps.join(",") : "";
    points.value = picture && places.length > 1 ? places.map(function (p) { return (p[0] / 358).toFixed(4) + "," + (p[1] / 358).toFixed(4); }).join(" ") : "";
    if (picture && places.length) { count.value = places.length; }
    if (places.length) {
      says.textContent = taps.length === places.length ? "The order is yours: " + taps.length + " fasteners. Tap one again to take it out."
        : taps.length ? taps.length + " of " + places.length + " tapped." : "Tap them in your own order, or leave it: crossed from side to side.";
    }
    draw();
  }
  count.addEventListener("input", function () {
    var n = Number(count.value);
    if (picture && n === places.length) { return; }
    picture = null;
    places = n >= 2 && n <= 40 ? plain(n) : [];
    taps = [];
    keep();
  });
  file.addEventListener("change", function () {
    if (!file.files[0]) { return; }
    createImageBitmap(file.files[0]).then(function (image) {
      var canvas = document.createElement("canvas"), k = Math.min(1, 1074 / image.width);
      canvas.width = Math.round(image.width * k);
      canvas.height = Math.round(image.height * k);
      canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
      picture = { canvas: canvas, height: Math.round(358 * image.height / image.width) };
      places = [];
      taps = [];
      keep();
      says.textContent = "Tap each fastener in the order of tightening. Tap one again to take it out.";
    }, function () { says.textContent = "This file is no picture that the browser can show."; });
  });
  if (count.value) { count.dispatchEvent(new Event("input")); }

  // Rows that are seldom needed come up when the one before is filled.
  document.querySelectorAll(".later").forEach(function (row) {
    var before = row.previousElementSibling, field = row.querySelector("input");
    function show() { row.classList.toggle("shut", !field.value && !(before && !before.classList.contains("shut") && before.querySelector("input") && before.querySelector("input").value)); }
    if (before) { before.addEventListener("input", function () { show(); }); }
    show();
  });
})();
