// Photos: taken or chosen in two taps. A photo is drawn anew on this device, smaller and
// without the place where it was taken, and goes through the outbox, so that it is kept
// here as long as the shop's computer does not answer. A form takes part with data-photo;
// without scripts it is an ordinary form that sends the file as it is.
(function () {
  "use strict";
  var edge = 1600;
  function drawn(file) {
    return (window.createImageBitmap ? window.createImageBitmap(file, { imageOrientation: "from-image" }) : Promise.reject()).then(function (image) {
      var scale = Math.min(1, edge / Math.max(image.width, image.height));
      var canvas = document.createElement("canvas");
      canvas.width = Math.max(1, Math.round(image.width * scale));
      canvas.height = Math.max(1, Math.round(image.height * scale));
      var ground = canvas.getContext("2d");
      ground.fillStyle = "#fff";
      ground.fillRect(0, 0, canvas.width, canvas.height);
      ground.drawImage(image, 0, 0, canvas.width, canvas.height);
      return new Promise(function (ok, no) {
        canvas.toBlob(function (blob) { if (blob) { ok(blob); } else { no(); } }, "image/jpeg", 0.85);
      });
    });
  }
  function say(form, text) { form.querySelector("[data-photo-says]").textContent = text; }
  function taken(form, field) {
    var file = field.files && field.files[0], of = form.querySelector("[name=of]"), key = form.querySelector("[name=key]");
    if (!file) { return; }
    say(form, "Making it smaller …");
    drawn(file).then(function (blob) {
      var event = { kind: "photo" }, job = form.getAttribute("action").split("/")[2];
      if (of && of.value) { event.of = of.value; }
      var shows = form.getAttribute("data-says") || (of && of.selectedOptions ? of.selectedOptions[0].textContent : "");
      return window.outbox.add(decodeURIComponent(job), event, "Photo: " + shows, blob);
    }).then(function (entry) {
      say(form, "Kept, " + Math.round(entry.blob.size / 1024) + " kB. It appears here when it was sent.");
      field.value = "";
    }, function () {
      say(form, "This phone cannot read that picture. Choose a JPEG or PNG, or let the phone save photos as JPEG.");
    });
    void key;
  }
  document.querySelectorAll("form[data-photo]").forEach(function (form) {
    var send = form.querySelector("[data-send]");
    if (send) { send.hidden = true; }
    form.querySelectorAll("input[type=file]").forEach(function (field) {
      field.addEventListener("change", function () { taken(form, field); });
    });
    form.addEventListener("submit", function (e) { e.preventDefault(); });
  });
})();
