// What pages do better with a script; each works without it.
"use strict";
(() => {
  const line = document.getElementById("line");

  // A scanner types wherever the focus is: outside a field its keys go to the line at the top.
  const isField = (at) => at.closest("input, select, textarea, [contenteditable], dialog");
  document.addEventListener("keydown", (event) => {
    const plain = !event.ctrlKey && !event.altKey && !event.metaKey && !event.isComposing;
    if (!line || !plain || event.key.length !== 1 || event.key === " " || isField(event.target)) return;
    line.focus();
  });

  // Enter in a field of a form does what the form is for; in the line it takes in what was scanned.
  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || field === line || !field.matches("input:not([type=checkbox], [type=radio])")) return;
    const main = field.form && field.form.querySelector("[data-main]");
    if (!main) return;
    event.preventDefault();
    main.click();
  });

  // A form is sent once, however often its button is pressed.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    if (form.dataset.sent) return event.preventDefault();
    form.dataset.sent = "yes";
  });
  window.addEventListener("pageshow", () => {
    for (const form of document.forms) delete form.dataset.sent;
  });

  // Of the menus only one lies open, and none once one looks elsewhere.
  const menus = [...document.querySelectorAll("nav details")];
  document.addEventListener("click", (event) => {
    for (const menu of menus) if (!menu.contains(event.target)) menu.open = false;
  });
  document.addEventListener("keydown", (event) => {
    const open = event.key === "Escape" && menus.find((menu) => menu.open);
    if (!open) return;
    open.open = false;
    open.querySelector("summary").focus();
  });

  // An answer that follows what is typed.
  const live = document.querySelector("form[data-live]");
  if (live) {
    let wait, again, asked;
    const ask = async () => {
      clearTimeout(again);
      const query = new URLSearchParams([...new FormData(live)].filter(([, value]) => value !== ""));
      const address = `${live.getAttribute("action")}?${query}`;
      asked = address;
      const headers = { accept: "text/html", prefer: "handling=lenient" };
      const answer = await fetch(address, { headers }).catch(() => null);
      // Whoever typed on has asked again by now.
      if (asked !== address) return;
      // Too busy, or out of reach for a moment: it is asked again, until somebody types on.
      if (!answer || answer.status === 429 || answer.status >= 500) {
        again = setTimeout(ask, 2000);
        return;
      }
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (asked !== address) return;
      // Each place keeps standing, so that what is said in it is heard.
      for (const found of page.querySelectorAll("[data-answer]")) {
        const place = found.id ? document.getElementById(found.id) : document.querySelector("[data-answer]");
        if (place && place.innerHTML !== found.innerHTML) place.replaceChildren(...found.childNodes);
      }
      // What was wrong when the page came may be right by now.
      for (const old of document.querySelectorAll(".faults, .field > .fault")) old.remove();
      history.replaceState(null, "", address);
    };
    // Lists may tell of a choice before it counts, and again once it does.
    for (const kind of ["input", "change"]) live.addEventListener(kind, () => { clearTimeout(wait); wait = setTimeout(ask, 300); });
  }

  // Sounds, where somebody wants them on this machine.
  const wanted = () => { try { return localStorage.getItem("sounds") === "on"; } catch { return false; } };
  const tone = (pitch, from, lasts, audio) => {
    const [source, volume] = [audio.createOscillator(), audio.createGain()];
    source.frequency.value = pitch;
    volume.gain.value = 0.15;
    source.connect(volume).connect(audio.destination);
    source.start(audio.currentTime + from);
    source.stop(audio.currentTime + from + lasts);
  };
  const sound = (good) => {
    const audio = new AudioContext();
    if (good) { tone(880, 0, 0.08, audio); tone(1320, 0.1, 0.08, audio); } else { tone(220, 0, 0.5, audio); }
  };
  const choice = document.querySelector("[data-sounds]");
  if (choice) {
    const box = choice.querySelector("input");
    choice.hidden = false;
    box.checked = wanted();
    box.addEventListener("change", () => {
      localStorage.setItem("sounds", box.checked ? "on" : "off");
      if (box.checked) sound(true);
    });
  }
  if (wanted()) {
    if (document.querySelector(".faults")) sound(false);
    else if (document.querySelector(".done")) sound(true);
  }

  // A warning before a page has lain idle for too long.
  const { idle: seconds, idleSoon, idleOver, idleStay, idleOn } = document.body.dataset;
  const idle = Number(seconds) * 1000;
  if (idle) {
    const ahead = Math.min(120_000, idle / 2);
    const dialog = document.createElement("dialog");
    const words = document.createElement("p");
    const button = document.createElement("button");
    words.id = "idle-words";
    dialog.setAttribute("role", "alertdialog");
    dialog.setAttribute("aria-labelledby", words.id);
    button.textContent = idleStay;
    dialog.append(words, button);
    document.body.append(dialog);
    let warning, end, ended = false;
    const over = () => {
      ended = true;
      words.textContent = idleOver;
      button.textContent = idleOn;
    };
    const warn = () => {
      words.textContent = idleSoon.replace("#", String(Math.round(ahead / 1000)));
      dialog.showModal();
      end = setTimeout(over, ahead);
    };
    const begin = () => { clearTimeout(warning); clearTimeout(end); warning = setTimeout(warn, Math.min(idle - ahead, 2 ** 31 - 1)); };
    button.addEventListener("click", async () => {
      if (ended) return dialog.close();
      const answer = await fetch("/stay").catch(() => null);
      if (answer && answer.status === 204) { dialog.close(); begin(); } else { over(); }
    });
    begin();
  }
})();
