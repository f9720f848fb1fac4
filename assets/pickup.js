// Ticks of the pickup list survive a dropped connection: they wait on this phone until the farm's book has them.
// Without this script each tick is a plain form. A tick sent twice counts once: its form key is good for one.
(function () {
  "use strict";
  var WHERE = "gambrel-ticks", note = document.querySelector("[data-ticks]"), sending = false;

  function kept() {
    try { return JSON.parse(localStorage.getItem(WHERE) || "[]"); } catch (e) { return []; }
  }
  function keep(all) {
    try { localStorage.setItem(WHERE, JSON.stringify(all)); return true; } catch (e) { return false; }
  }
  function say(text) {
    if (!note) return;
    note.hidden = !text;
    note.textContent = text;
  }
  function count(n) { return n === 1 ? "1 tick" : n + " ticks"; }
  function formOf(tick) { return document.querySelector("form[data-tick][action='" + tick.url + "']"); }

  function mark(form, words, done) {
    var button = form.querySelector("button"), line = form.closest("li");
    button.disabled = true;
    button.textContent = words;
    var when = line && line.querySelector(".when");
    if (!when) return;
    var standing = document.createElement("span");
    standing.className = done ? "st done" : "st part todo";
    standing.textContent = done ? "Collected" : "Waits on this phone";
    when.replaceChildren(standing);
  }

  function refusal(markup) {
    var page = new DOMParser().parseFromString(markup, "text/html"), why = page.querySelector(".errors li");
    return why ? why.textContent.trim() : "The book did not take this tick. Load the page again.";
  }

  // After a new sign-in the key kept with a tick is an old one; this page's own form has one that is good.
  function withFreshKey(tick) {
    var form = formOf(tick), body = new URLSearchParams(tick.body);
    if (!form || tick.again) return null;
    var fresh = form.querySelector("input[type=hidden]");
    if (body.get(fresh.name) === fresh.value) return null;
    body.set(fresh.name, fresh.value);
    return { url: tick.url, body: body.toString(), again: true };
  }

  function next() {
    var all = kept(), tick = all[0];
    if (!tick) { sending = false; say(""); return; }
    sending = true;
    fetch(tick.url, {
      method: "POST",
      headers: { "Content-Type": "application/x-www-form-urlencoded" },
      body: tick.body
    }).then(function (answer) {
      if (answer.redirected && new URL(answer.url).pathname === "/sign-in") {
        sending = false;
        say(count(all.length) + " on this phone. Sign in again to send them.");
        return;
      }
      if (answer.status >= 500) throw new Error("the service is not well");
      return answer.text().then(function (markup) {
        var rest = kept().slice(1), form = formOf(tick);
        if (answer.ok) {
          keep(rest);
          if (form) mark(form, "Collected", true);
        } else {
          var again = withFreshKey(tick);
          keep(again ? [again].concat(rest) : rest);
          if (!again && form) {
            mark(form, "Not ticked off", false);
            form.querySelector("button").insertAdjacentText("afterend", " " + refusal(markup));
          }
        }
        next();
      });
    }).catch(function () {
      sending = false;
      say(count(kept().length) + " on this phone, to be sent when the connection is back.");
    });
  }

  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (!form.hasAttribute || !form.hasAttribute("data-tick")) return;
    var now = form.querySelector("[data-now]");
    if (now) now.value = String(Date.now());
    var body = new URLSearchParams(new FormData(form)).toString();
    if (!keep(kept().concat([{ url: form.getAttribute("action"), body: body }]))) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    mark(form, "Saved on this phone", false);
    if (!sending) next();
  }, true);

  kept().forEach(function (tick) {
    var form = formOf(tick);
    if (form) mark(form, "Saved on this phone", false);
  });
  if (kept().length) next();
  window.addEventListener("online", function () { if (!sending) next(); });
  setInterval(function () { if (!sending && kept().length) next(); }, 15000);
})();
