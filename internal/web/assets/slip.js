// Asks about a likely slip (inches for millimetres, a lost point, thou, a jump) when the
// shop's computer cannot: the same question as the server's (measure.FindSlip), from what
// the page knows. It changes no reading; what it cannot read is left to the server, which
// asks when the reading is delivered. Without this script the server asks alone.
(function () {
  "use strict";
  var far = 5, jump = 1.5, near = 1, alike = 0.1, note = "asked, kept as typed";
  var metres = { mm: 1e-3, cm: 1e-2, m: 1, "µm": 1e-6, um: 1e-6, "in": 0.0254, inch: 0.0254, thou: 2.54e-5, mil: 2.54e-5 };

  // read takes a decimal number with a unit, in the unit of the field; anything else is
  // not judged here.
  function read(text, unit) {
    var m = /^([+\-−]?(?:\d+\.?\d*|\.\d+))\s*([^\d\s.].*)?$/.exec(text.trim()), x;
    if (!m) { return null; }
    x = Number(m[1].replace("−", "-"));
    if (!m[2] || m[2] === unit) { return { value: x, unit: unit, figures: m[1] }; }
    if (!metres[m[2]] || !metres[unit]) { return null; }
    return { value: x * metres[m[2]] / metres[unit], unit: m[2], figures: m[1] };
  }
  function guesses(unit, typed) {
    var list = [];
    if (unit === "mm") {
      list = [["in", 25.4, "in inches"], ["thou", 25.4e-3, "in thou"]];
      if (Math.abs(typed) < 1000) { list.push(["µm", 1e-3, ""]); }
    } else if (unit === "in") { list = [["mm", 1 / 25.4, "in millimetres"], ["thou", 1e-3, ""]]; }
    else if (unit === "µm") { list = [["mm", 1e3, ""]]; }
    else if (unit === "thou") { list = [["in", 1e3, ""], ["", 10 / 25.4, "in hundredths of a millimetre"]]; }
    return list.concat([["", 1e-3, ""], ["", 1e3, ""]]);
  }
  function find(typed, s, others) {
    var low = s.low, high = s.high, width = s.width, nearest = null, distance = Infinity, sorted, best = null, least = Infinity;
    others.forEach(function (o) { if (Math.abs(o - typed.value) < distance) { distance = Math.abs(o - typed.value); nearest = o; } });
    if (!width) {
      if (!others.length) { return null; }
      sorted = others.slice().sort(function (a, b) { return a - b; });
      low = sorted[0];
      high = sorted[sorted.length - 1];
      width = alike * Math.abs(sorted[Math.floor(sorted.length / 2)]);
      if (!(width > 0)) { return null; }
    }
    function outside(x) { return Math.max(low - x, x - high, 0) / width; }
    var agrees = others.length > 0 && distance <= jump * width;
    if (outside(typed.value) > far && !agrees) {
      guesses(typed.unit, Number(typed.figures)).forEach(function (g) {
        var d = outside(typed.value * g[1]);
        if (d <= near && d < least) { least = d; best = { unit: g[0], factor: g[1], looks: g[2] }; }
      });
      if (!best) { return { because: "It is far from anything the limits allow." }; }
      var digits = (typed.figures.split(".")[1] || "").length;
      best.meant = best.unit ? typed.figures + " " + best.unit :
        (Number(typed.figures) * best.factor).toFixed(best.factor < 1 ? digits + 3 : Math.max(digits - 3, 0)) + (typed.unit === "1" ? "" : " " + typed.unit);
      best.because = best.looks ? "It looks like a reading " + best.looks + "." : best.factor < 1 ? "It looks a thousand times too large." : "It looks a thousand times too small.";
      return best;
    }
    if (others.length && !agrees) { return { because: "The nearest of the other readings is " + nearest + "." }; }
    return null;
  }

  function element(name, className, text) {
    var e = document.createElement(name);
    e.className = className || "";
    if (text) { e.textContent = text; }
    return e;
  }
  // The question stands where the server's stands, with the same two answers.
  function show(form, text, slip) {
    var asked = document.getElementById("asked"), old = document.getElementById("question"), box = element("div", "notice n-unsure"), in_ = element("div"), answers = element("div", "answers"), field = form.querySelector("input.reading");
    if (old) { old.remove(); }
    box.id = "question";
    box.setAttribute("role", "alert");
    in_.append(element("h2", "", "Is " + text + " right for " + document.getElementById("field-says").textContent.replace(/, [^,]*$/, "") + "?"));
    if (form.getAttribute("data-wanted")) { in_.append(element("p", "lab", "Looked for: " + form.getAttribute("data-wanted") + ".")); }
    in_.append(element("p", "lab", slip.because));
    if (slip.meant) {
      var b = element("p", "", "");
      b.append(element("b", "", "Did you mean " + slip.meant + "?"));
      in_.append(b);
      var was = element("button", "btn", "It was " + slip.meant);
      was.type = "button";
      was.addEventListener("click", function () { field.value = slip.meant; field.removeAttribute("data-whole"); form.requestSubmit(); });
      answers.append(was);
    }
    var keep = element("button", "btn", "Keep " + text + " as typed");
    keep.type = "button";
    keep.addEventListener("click", function () { form.setAttribute("data-sure", text); form.requestSubmit(); });
    answers.append(keep);
    in_.append(answers, element("p", "note", "Or correct it below. Nothing is kept yet, not on this phone either."));
    box.append(in_);
    asked.append(box);
    field.select();
  }

  // asks says whether the form of a reading must wait for an answer.
  function asks(form) {
    var about = form.getAttribute("data-slip"), field = form.querySelector("input.reading"), old = document.getElementById("question");
    if (!about || !field) { return false; }
    about = JSON.parse(about);
    var text = (field.getAttribute("data-whole") || field.value).trim(), typed = read(text, about.unit);
    var full = typed && /^[+\-−]?[\d.]+$/.test(text) && about.unit !== "1" ? text + " " + about.unit : text;
    if (!typed || form.getAttribute("data-sure") === full) { return false; }
    var lit = document.querySelector(".cell[aria-current=true]"), phase = document.querySelector("select[name=phase]"), others = [];
    if (!phase || !phase.value) {
      document.querySelectorAll(".cell:not(.empty)").forEach(function (c) {
        var other = c !== lit && read(c.querySelector("span:not(.vh)").textContent, about.unit);
        if (other) { others.push(other.value); }
      });
    }
    var slip = find(typed, about, others);
    if (!slip) {
      if (old) { old.remove(); }
      return false;
    }
    show(form, full, slip);
    return true;
  }
  // settled marks an event whose likely slip a person answered for, and forgets the answer.
  function settled(form, event) {
    var old = document.getElementById("question");
    if (old && form.id === "form") { old.remove(); }
    if (event.kind === "reading" && form.getAttribute("data-sure") === event.value) {
      event.note = event.note ? event.note + "; " + note : note;
    }
    form.removeAttribute("data-sure");
    return event;
  }
  window.slips = { asks: asks, settled: settled, find: find };
})();
