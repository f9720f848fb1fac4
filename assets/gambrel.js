// Small comforts. No page needs this script: without it every form still works and every link still leads somewhere.
(function () {
  "use strict";

  // The error summary is read first.
  var errors = document.querySelector(".errors[role=alert]");
  if (errors) errors.focus();

  // A form is sent once: its button says what is going on until the next page comes.
  function busy(form, button) {
    form.setAttribute("aria-busy", "true");
    // After the browser has gathered the form, or the button's own value would be missing from it.
    setTimeout(function () {
      form.querySelectorAll("button[type=submit], button:not([type])").forEach(function (b) { b.disabled = true; });
      if (button && button.dataset.busy) {
        button.dataset.words = button.textContent;
        button.textContent = button.dataset.busy;
        button.setAttribute("aria-busy", "true");
      }
    }, 0);
  }
  function idle(form) {
    form.removeAttribute("aria-busy");
    form.querySelectorAll("button").forEach(function (b) {
      b.disabled = false;
      b.removeAttribute("aria-busy");
      if (b.dataset.words) { b.textContent = b.dataset.words; delete b.dataset.words; }
    });
  }
  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (form.method !== "post") return;
    if (form.getAttribute("aria-busy") === "true") { event.preventDefault(); return; }
    var button = event.submitter;
    // A button that makes a file to keep leaves this page standing.
    if (button && button.hasAttribute("data-stays")) return;
    busy(form, button);
  });
  // Coming back with the browser's Back button shows the page as it was left.
  window.addEventListener("pageshow", function (event) {
    if (event.persisted) document.querySelectorAll("form[aria-busy]").forEach(idle);
  });

  // Copy buttons: data-copy is the id of what to copy. They are hidden until this script runs.
  function select(source) {
    if (source.select) { source.select(); return; }
    var range = document.createRange();
    range.selectNodeContents(source);
    var selection = window.getSelection();
    selection.removeAllRanges();
    selection.addRange(range);
  }
  document.querySelectorAll("[data-copy]").forEach(function (button) {
    var source = document.getElementById(button.dataset.copy);
    if (!source) return;
    var words = button.textContent;
    button.hidden = false;
    function say(text) {
      button.textContent = text;
      setTimeout(function () { button.textContent = words; }, 2500);
    }
    // Clipboards need a secure page; on a farm's plain http network the old way is the one that works.
    function oldWay() {
      select(source);
      say(document.execCommand("copy") ? "Copied" : "Marked: copy it now");
    }
    button.addEventListener("click", function () {
      var text = "value" in source ? source.value : source.innerText;
      if (!navigator.clipboard) { oldWay(); return; }
      navigator.clipboard.writeText(text).then(function () { say("Copied"); }, oldWay);
    });
  });

  // People who may be the same one, while typing: data-suggest is where to ask, data-fields which fields to send.
  document.querySelectorAll("[data-suggest]").forEach(function (place) {
    var form = place.closest("form");
    if (!form) return;
    var names = (place.dataset.fields || "").split(" ").filter(Boolean);
    var timer = 0, asked = null, last = "";
    function ask() {
      var query = new URLSearchParams(), length = 0;
      names.forEach(function (name) {
        var field = form.elements[name], value = field && field.value ? field.value.trim() : "";
        if (value) { query.set(name, value); length = Math.max(length, value.length); }
      });
      var text = query.toString();
      if (text === last) return;
      last = text;
      if (asked) asked.abort();
      if (length < 3) { place.replaceChildren(); return; }
      var mine = asked = new AbortController();
      fetch(place.dataset.suggest + text, { signal: mine.signal, headers: { Accept: "text/html" } })
        .then(function (answer) { return answer.ok && !answer.redirected ? answer.text() : ""; })
        // The service's own escaped markup.
        .then(function (markup) { if (asked === mine) place.innerHTML = markup; })
        .catch(function () { /* typed on, or the network is down: nothing is lost */ });
    }
    names.forEach(function (name) {
      var field = form.elements[name];
      if (field && field.addEventListener) field.addEventListener("input", function () {
        clearTimeout(timer);
        timer = setTimeout(ask, 300);
      });
    });
  });

  // An estimate that follows what is chosen: data-live names the parts of the page that are asked for anew.
  document.querySelectorAll("form[data-live]").forEach(function (form) {
    var parts = form.dataset.live.split(" "), timer = 0, asked = null;
    var says = document.querySelector("[data-live-says]");
    function ask() {
      var query = new URLSearchParams(new FormData(form)).toString();
      if (asked) asked.abort();
      var mine = asked = new AbortController();
      fetch(location.pathname + "?" + query, { signal: mine.signal, headers: { Accept: "text/html" } })
        .then(function (answer) { return answer.ok || answer.status === 422 ? answer.text() : ""; })
        .then(function (markup) {
          if (asked !== mine || !markup) return;
          var page = new DOMParser().parseFromString(markup, "text/html");
          parts.forEach(function (id) {
            var now = document.getElementById(id), next = page.getElementById(id);
            if (now && next) now.replaceWith(document.adoptNode(next));
          });
          document.title = page.title;
          history.replaceState(null, "", location.pathname + "?" + query);
          var heading = document.querySelector("h1");
          if (says && heading) says.textContent = heading.textContent;
        })
        .catch(function () { /* typed on, or the network is down: the button still works */ });
    }
    form.addEventListener("input", function () {
      clearTimeout(timer);
      timer = setTimeout(ask, 400);
    });
  });
})();
