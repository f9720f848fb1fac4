// At the plant: keeps what is typed on this device, and sends a saved row again until the farm's service has it. Without this script
// the same forms work by themselves; a row sent twice is kept once, by its key.
(function () {
  "use strict";
  var box;
  try { box = window.localStorage; box.setItem("gambrel-try", "1"); box.removeItem("gambrel-try"); } catch (e) { return; }
  if (!window.fetch || !window.URLSearchParams || !window.DOMParser) return;
  var note = document.getElementById("line-note");
  var SEND = "gambrel-send-", TYPED = "gambrel-typed-";
  var busy = false, timer = 0;

  function read(key) { try { return JSON.parse(box.getItem(key)); } catch (e) { return null; } }
  function write(key, value) { try { box.setItem(key, JSON.stringify(value)); return true; } catch (e) { return false; } }
  function drop(key) { try { box.removeItem(key); } catch (e) { /* nothing was kept */ } }
  function keys(start) {
    var all = [];
    for (var i = 0; i < box.length; i++) if (box.key(i).indexOf(start) === 0) all.push(box.key(i));
    return all.sort();
  }
  function name(form) { return form.dataset.date + "-" + form.dataset.keep; }
  function isOwn(field) { return field !== "form_key" && !/-version$/.test(field); }
  function version(form) { var v = form.querySelector("input[name$='-version']"); return v ? v.value : ""; }
  function pairs(form) { return Array.from(new FormData(form)).filter(function (p) { return typeof p[1] === "string"; }); }
  function own(all) { return all.filter(function (p) { return isOwn(p[0]); }); }
  function fill(form, all) {
    form.querySelectorAll("input[type=checkbox], input[type=radio]").forEach(function (i) { i.checked = false; });
    all.forEach(function (p) {
      form.querySelectorAll("[name='" + p[0] + "']").forEach(function (field) {
        if (field.type === "checkbox" || field.type === "radio") { if (field.value === p[1]) field.checked = true; }
        else if (isOwn(p[0])) field.value = p[1];
      });
    });
  }
  function say(form, words) {
    var place = form && form.querySelector("[data-kept]");
    if (!place) return;
    place.textContent = words;
    place.hidden = !words;
  }
  function formOf(item) { return document.querySelector("form[data-keep='" + item.keep + "'][data-date='" + item.date + "']"); }

  function tell() {
    var n = keys(SEND).length;
    if (!note) return;
    note.hidden = n === 0;
    note.textContent = n === 0 ? "" : (n === 1 ? "One row is kept on this device and not sent yet. " : n + " rows are kept on this device and not sent yet. ") +
      "They go out by themselves as soon as there is a connection. Leave this page open.";
  }
  function later() { clearTimeout(timer); timer = setTimeout(sendAll, 4000); }

  function wire(form) {
    form.addEventListener("input", function () {
      write(TYPED + name(form), { seen: version(form), fields: own(pairs(form)) });
    });
    form.addEventListener("submit", function (event) {
      var all = pairs(form), key = SEND + name(form), before = read(key);
      var item = { keep: form.dataset.keep, date: form.dataset.date, action: form.getAttribute("action"), body: all, again: !!before };
      if (!write(key, item)) return;
      event.preventDefault();
      event.stopPropagation();
      drop(TYPED + name(form));
      say(form, "Sending…");
      sendAll();
    });
    var typed = read(TYPED + name(form)), waiting = read(SEND + name(form));
    if (waiting) { fill(form, own(waiting.body)); say(form, "Kept on this device, not sent yet."); }
    else if (typed && typed.seen === version(form)) { fill(form, typed.fields); say(form, "Typed here before and not saved yet."); }
    else if (typed) drop(TYPED + name(form));
  }

  // The service's own page, with the row as it stands now.
  function answered(key, item, page, status) {
    var id = "row-" + item.keep, row = page.getElementById(id), here = document.getElementById(id);
    if (!row) {
      say(formOf(item), "The farm’s service did not take this row. It is still kept on this device: open the link from the farm’s mail again.");
      return false;
    }
    drop(key);
    ["heading", "jump"].forEach(function (part) {
      var theirs = page.getElementById(part), mine = document.getElementById(part);
      if (theirs && mine) mine.replaceWith(document.importNode(theirs, true));
    });
    if (!here || !formOf(item)) return true;
    var fresh = document.importNode(row, true), form = fresh.querySelector("form");
    here.replaceWith(fresh);
    wire(form);
    if (status >= 400) {
      var wrong = fresh.querySelector("[aria-invalid=true]") || fresh.querySelector(".err");
      say(form, "Not saved yet.");
      if (wrong && wrong.focus) wrong.focus();
      return true;
    }
    if (item.again && JSON.stringify(own(item.body)) !== JSON.stringify(own(pairs(form)))) {
      // It was changed while an earlier sending of it was on its way: what was typed last counts.
      fill(form, own(item.body));
      var more = { keep: item.keep, date: item.date, action: form.getAttribute("action"), body: pairs(form), again: false };
      write(key, more);
      return true;
    }
    var open = document.querySelectorAll("form[data-keep] .btn.do");
    var next = page.querySelector(".btn.do"), nextForm = next && next.closest("form[data-keep]");
    open.forEach(function (b) { b.classList.remove("do"); });
    if (nextForm) {
      var there = document.querySelector("form[data-keep='" + nextForm.dataset.keep + "']");
      if (there) {
        there.querySelector("button[type=submit]").classList.add("do");
        var first = there.querySelector("input:not([type=hidden])");
        if (first && document.activeElement === document.body) first.focus();
      }
    }
    return true;
  }

  function sendAll() {
    tell();
    if (busy) return;
    var key = keys(SEND)[0], item = key && read(key);
    if (key && !item) { drop(key); return sendAll(); }
    if (!item) return;
    busy = true;
    fetch(item.action, {
      method: "POST", credentials: "same-origin", headers: { Accept: "text/html" },
      body: new URLSearchParams(item.body)
    }).then(function (answer) {
      if (answer.status >= 500 || answer.status === 429) throw new Error("later");
      return answer.text().then(function (text) {
        var page = new DOMParser().parseFromString(text, "text/html"), newest = read(key);
        // Saved once more while this was on its way: that one goes next, and says what counts.
        if (newest && JSON.stringify(newest.body) !== JSON.stringify(item.body)) { busy = false; sendAll(); return; }
        busy = false;
        if (answered(key, newest || item, page, answer.status)) sendAll(); else tell();
      });
    }).catch(function () {
      busy = false;
      keys(SEND).forEach(function (k) { var i = read(k); if (i) say(formOf(i), "No connection. Kept on this device, not sent yet."); });
      tell();
      later();
    });
  }

  document.querySelectorAll("form[data-keep]").forEach(wire);
  window.addEventListener("online", sendAll);
  sendAll();
})();
