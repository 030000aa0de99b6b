"use strict";
(function () {
  var text = document.getElementById("profile-document").textContent;
  var link = document.getElementById("save");
  link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  link.hidden = false;
})();
