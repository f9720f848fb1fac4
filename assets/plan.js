// Dragging a share onto a head, beside the selects that do the same: it sets the select and plans again. Nothing is saved by it.
(function () {
  "use strict";

  var form = document.getElementById("plan"), says = document.getElementById("drag-says"), dragged = null;
  if (!form || !form.requestSubmit) return;
  var again = form.querySelector("button[name=act][value=again]");
  if (!again) return;

  form.querySelectorAll("tr[data-share]").forEach(function (row) {
    if (!document.getElementById("to-" + row.dataset.share)) return;
    var name = row.querySelector("th");
    name.draggable = true;
    name.addEventListener("dragstart", function (event) {
      dragged = row;
      event.dataTransfer.effectAllowed = "move";
      event.dataTransfer.setData("text/plain", row.dataset.share);
    });
    name.addEventListener("dragend", function () { dragged = null; });
  });

  // The half of the drawing that is pointed at is the side, as one sees it.
  function target(figure, event) {
    if (dragged.dataset.size === "whole") return figure.dataset.head + "-whole";
    var box = (figure.querySelector("svg.rail") || figure).getBoundingClientRect();
    return figure.dataset.head + (event.clientX < box.left + box.width / 2 ? "-left" : "-right");
  }
  form.querySelectorAll("figure[data-head]").forEach(function (figure) {
    figure.addEventListener("dragover", function (event) {
      if (dragged) event.preventDefault();
    });
    figure.addEventListener("drop", function (event) {
      if (!dragged) return;
      event.preventDefault();
      var select = document.getElementById("to-" + dragged.dataset.share), value = target(figure, event);
      var there = Array.prototype.some.call(select.options, function (option) { return option.value === value; });
      if (!there) {
        says.classList.remove("vh");
        says.textContent = "This share cannot hang there: it is another species, inside a withdrawal period, or full.";
        return;
      }
      select.value = value;
      form.requestSubmit(again);
    });
  });
})();
