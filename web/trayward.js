// What the pages do beyond links and forms. Everything on them can be read and sent without this; nothing here decides anything.

const meta = document.querySelector('meta[name="token"]');
let token = meta ? meta.content : "";

const byId = (id) => document.getElementById(id);
const seconds = (ms) => ms / 1000;

/** Puts parts of a page in their places; a part that says the same stays, so that focus and open lists do. */
function place(parts) {
  for (const [id, html] of parts) {
    const spot = byId(id);
    if (!spot || spot.dataset.html === html) continue;
    const kept = spot.contains(document.activeElement) ? document.activeElement.closest("figure, [id]") : null;
    const open = [...spot.querySelectorAll("details[open] > summary")].map((summary) => summary.textContent);
    spot.innerHTML = html;
    spot.dataset.html = html;
    for (const summary of spot.querySelectorAll("details > summary")) {
      if (open.includes(summary.textContent)) summary.parentElement.open = true;
    }
    if (kept && kept.id && byId(kept.id)) byId(kept.id).focus({ preventScroll: true });
  }
}

async function ask(address, options) {
  const answer = await fetch(address, { cache: "no-store", credentials: "same-origin", ...options });
  return answer;
}

/** Sends a form and reads what came of it; what was typed stays where it is. */
async function sent(form, address) {
  const body = new URLSearchParams(new FormData(form));
  body.set("token", token);
  try {
    const answer = await ask(address, { method: "POST", body, headers: { accept: "application/json" } });
    return await answer.json();
  } catch {
    return { done: false, says: "The program does not answer; nothing was recorded. Try again." };
  }
}

/** Forms that say what is wrong beside themselves, with everything still in them. */
for (const form of document.querySelectorAll("form[data-stay]")) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const answer = await sent(form, form.action);
    if (answer.done) {
      location.assign(answer.go);
      return;
    }
    const status = form.querySelector("[role=status]");
    status.className = "wrong";
    status.textContent = answer.says;
    for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
    for (const field of form.elements) {
      if (field.name && answer.says.includes(field.name.replace("fact:", ""))) field.setAttribute("aria-invalid", "true");
    }
    form.querySelector("[aria-invalid]")?.focus();
  });
}

for (const back of document.querySelectorAll("[data-back]")) {
  back.hidden = history.length < 2;
  back.addEventListener("click", () => history.back());
}

// The card: a first answer is there already; a sharper one, the routes and the thickness follow.

async function load(spot, address) {
  try {
    const answer = await ask(address);
    const text = await answer.text();
    if (answer.ok) {
      place([[spot.id, text]]);
      return true;
    }
    const said = new DOMParser().parseFromString(text, "text/html").querySelector("main");
    spot.querySelector("[role=status]").textContent = said ? said.textContent : "It cannot be shown.";
  } catch {
    const status = spot.querySelector("[role=status]");
    if (status) status.textContent = "The program does not answer. Reload the page when it runs.";
  }
  return false;
}

async function card(article) {
  const code = article.dataset.code;
  const sharpening = byId("sharpening");
  try {
    const answer = await ask(`/case/${code}/card.json`);
    const sharp = await answer.json();
    if (answer.ok && !moving) place(sharp.parts);
    if (!moving) sharpening.textContent = answer.ok ? sharp.says : "This is a first answer.";
  } catch {
    sharpening.textContent = "This is a first answer; the program does not answer now.";
  }
  const routes = byId("routes");
  if (routes && (await load(routes, `${routes.dataset.load}?pace=first`))) await load(routes, `${routes.dataset.load}?pace=whole`);
  const thickness = byId("thickness-part");
  if (thickness) await load(thickness, thickness.dataset.load);
}

// What if: one question under way at a time, the last one moved is always the last one shown.

let moving = false;
let under_way = false;
let wanted = false;

/** The value at which a slider stands, rounded to its step or, where it runs over decades, to two digits. */
function slid(slide) {
  const { low, high, power, step } = Object.fromEntries(["low", "high", "power", "step"].map((name) => [name, Number(slide.dataset[name])]));
  const value = low + (high - low) * (slide.value / 1000) ** power;
  const size = power > 1 ? 10 ** Math.max(0, Math.floor(Math.log10(Math.max(1, value))) - 1) : step;
  return Number((Math.round(value / size) * size).toFixed(6));
}

function unslid(slide, value) {
  const [low, high] = [Number(slide.dataset.low), Number(slide.dataset.high)];
  return Math.min(1, Math.max(0, (value - low) / (high - low))) ** (1 / Number(slide.dataset.power));
}

function what_if(form) {
  const says = byId("whatif-says");
  const settle = { timer: 0 };
  const send = async (points) => {
    if (under_way) {
      wanted = true;
      return;
    }
    under_way = true;
    wanted = false;
    const body = new URLSearchParams();
    for (const field of form.querySelectorAll("[name]")) {
      if (field.name.startsWith("fact:") && field.value !== field.dataset.stands) body.append(field.name, field.value);
    }
    if (points) body.append("points", points);
    try {
      const began = performance.now();
      const answer = await ask(form.dataset.action, { method: "POST", body });
      const moved = await answer.json();
      place(moved.parts);
      says.className = answer.ok ? "" : "wrong";
      says.textContent = moved.says || (answer.ok ? "As stated." : "");
      document.documentElement.dataset.moved = Math.round(performance.now() - began);
      byId("sharpening").textContent = points ? "Sharpened." : "First answer; it is being sharpened.";
    } catch {
      says.textContent = "The program does not answer.";
    }
    under_way = false;
    if (wanted) send();
    else if (!points) {
      clearTimeout(settle.timer);
      settle.timer = setTimeout(() => send("256"), 500);
    }
  };
  form.addEventListener("input", (event) => {
    const field = event.target;
    if (field.classList.contains("slide")) {
      const said = form.querySelector(`[name="${CSS.escape(field.dataset.for)}"]`);
      said.value = `${slid(field)} ${field.dataset.unit}`;
    } else {
      const slide = field.closest("label").querySelector(".slide");
      const number = Number.parseFloat(field.value);
      if (slide && Number.isFinite(number)) slide.value = 1000 * unslid(slide, number);
    }
    const label = field.closest("label");
    const said = label.querySelector("[name]");
    label.classList.toggle("moved", said.value !== said.dataset.stands);
    moving = true;
    send();
  });
  form.addEventListener("reset", () => setTimeout(() => {
    for (const label of form.querySelectorAll(".moved")) label.classList.remove("moved");
    send();
  }));
}

// The clock.

function clock(section) {
  const { code, action } = section.dataset;
  const waiting = `trayward ${code}`;
  const said = byId("said");
  const button = section.querySelector("#stamp button");
  let look = null;
  let offset = 0;
  let pressed = -Infinity;
  let sound = null;
  let called = "";

  const pending = () => JSON.parse(localStorage.getItem(waiting) || "[]");
  const keep = (list) => (list.length ? localStorage.setItem(waiting, JSON.stringify(list)) : localStorage.removeItem(waiting));
  const span = (ms) => {
    const whole = Math.floor(Math.abs(seconds(ms)));
    const [hours, minutes, rest] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
    const two = (number) => String(number).padStart(2, "0");
    return hours ? `${hours}:${two(minutes)}:${two(rest)}` : `${minutes}:${two(rest)}`;
  };

  const state = () => {
    if (!look || !look.step || !look.started) return { name: "idle" };
    const now = performance.now() + offset;
    const toClose = look.closes === null ? null : look.closes - now;
    const toOpen = look.opens === null ? null : look.opens - now;
    if (toClose !== null && toClose < 0) return { name: "late", figure: span(toClose), words: "too late" };
    if (toOpen !== null && toOpen > 0) return { name: "wait", figure: span(Math.ceil(toOpen / 1000) * 1000), words: "to wait: not yet" };
    if (toClose !== null && toClose <= look.lead_s * 1000) return { name: "soon", figure: span(toClose), words: "left" };
    if (toClose !== null) return { name: "open", figure: span(toClose), words: "to spare" };
    return { name: "open" };
  };

  const beep = (times, pitch) => {
    if (!sound) return;
    for (let index = 0; index < times; index += 1) {
      const start = sound.currentTime + index * 0.28;
      const tone = sound.createOscillator();
      const gain = sound.createGain();
      tone.frequency.value = pitch;
      gain.gain.setValueAtTime(0.0001, start);
      gain.gain.exponentialRampToValueAtTime(0.4, start + 0.02);
      gain.gain.exponentialRampToValueAtTime(0.0001, start + 0.2);
      tone.connect(gain).connect(sound.destination);
      tone.start(start);
      tone.stop(start + 0.22);
    }
  };

  const tick = () => {
    const now = state();
    const [figure, words] = [byId("count"), byId("count-words")];
    if (figure && now.figure) {
      figure.textContent = now.figure;
      words.textContent = now.words;
      figure.parentElement.className = `figure ${now.name}`;
    }
    const call = `${look ? look.step : ""} ${now.name}`;
    if (call !== called) {
      const before = called;
      called = call;
      if (before && now.name !== "idle") {
        const words_of = { open: `it may be done: ${look.words}`, soon: `soon too late: ${look.words}`, late: `too late: ${look.words}` };
        byId("call").textContent = words_of[now.name] ?? "";
        if (now.name === "open") beep(1, 660);
        if (now.name === "soon") beep(3, 880);
        if (now.name === "late") beep(5, 440);
      }
    }
  };

  const say = (words) => {
    said.textContent = words;
  };

  const see = async () => {
    try {
      const answer = await ask(`/case/${code}/clock.json`);
      if (!answer.ok) throw new Error(await answer.text());
      look = await answer.json();
      token = look.token;
      for (const field of document.querySelectorAll('input[name="token"]')) field.value = token;
      offset = look.present - performance.now();
      place(look.parts);
      button.disabled = !look.step;
      button.textContent = look.words ? look.words[0].toUpperCase() + look.words.slice(1) : "Every step is done";
      section.querySelector('#stamp input[name="line"]').value = look.step ? `stamp ${look.step}` : "";
      announce();
      delete section.dataset.lost;
    } catch {
      section.dataset.lost = "";
      say(pending().length ? "NOT KEPT YET: the program does not answer; what was pressed is kept here and sent when it does." : "The program does not answer; the clock goes on here.");
    }
    tick();
  };

  // What has newly come up is said once; figures that run on are not.
  let known = null;
  const announce = () => {
    const list = [...document.querySelectorAll("#alerts li")].map((line) => line.textContent);
    const plain = (text) => text.replace(/[\d:]+/g, "");
    const fresh = known ? list.filter((text) => !known.has(plain(text))) : [];
    known = new Set(list.map(plain));
    if (fresh.length) byId("call").textContent = fresh.join(". ");
  };

  // Presses that were not acknowledged wait here, each with an identifier of its own, and are sent until they are.
  let sending = false;
  const send = async () => {
    if (sending) return;
    sending = true;
    let list = pending();
    while (list.length) {
      const first = list[0];
      const body = new URLSearchParams({ token, id: first.id, line: first.line, earlier_ms: String(Math.max(0, Math.round(Date.now() - first.at))) });
      let answer;
      let came = null;
      try {
        answer = await ask(action, { method: "POST", body, headers: { accept: "application/json" } });
        came = await answer.json();
      } catch {
        say("NOT KEPT YET: the program does not answer; what was pressed is kept here and sent when it does.");
        break;
      }
      if (answer.status === 409) {
        // The program was started anew: its word is learnt with the next look.
        await see();
        if (section.dataset.lost !== undefined) break;
        continue;
      }
      if (came.again) {
        say(came.says);
        break;
      }
      list = pending().filter((waits) => waits.id !== first.id);
      keep(list);
      say(came.done ? `${first.words}: kept` : `not recorded: ${came.says}`);
      await see();
    }
    sending = false;
  };

  // What is shown is what is stamped, also before the first look has come back.
  const shown = () => section.querySelector('#stamp input[name="line"]').value;
  const press = () => {
    const line = shown();
    if (!line) return;
    const words = button.textContent[0].toLowerCase() + button.textContent.slice(1);
    const now = performance.now();
    // A pedal that bounces, or a finger that trembles, presses once.
    if (now - pressed < 700) return;
    if (pending().some((waits) => waits.line === line)) return;
    pressed = now;
    keep([...pending(), { id: crypto.randomUUID(), line, words, at: Date.now() }]);
    say(`${words} …`);
    send();
  };

  section.querySelector("#stamp").addEventListener("submit", (event) => {
    event.preventDefault();
    press();
  });
  const isPedal = (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || ![" ", "Enter", "PageDown"].includes(event.key)) return false;
    const other = document.activeElement;
    return !other || other === button || !other.closest("input, select, textarea, button, a, summary, [contenteditable]");
  };
  // A key that is held repeats, and a button is clicked when it comes up: neither is another press.
  document.addEventListener("keydown", (event) => {
    if (!isPedal(event)) return;
    event.preventDefault();
    if (!event.repeat) press();
  });
  document.addEventListener("keyup", (event) => {
    if (isPedal(event)) event.preventDefault();
  });
  // Everything else is recorded without leaving the page, so that the focus stays on what was pressed and no key stamps by mistake.
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.id === "stamp" || form.method !== "post" || form.action !== new URL(action, location).href) return;
    event.preventDefault();
    const answer = await sent(form, action);
    say(answer.says);
    if (answer.done) {
      for (const field of form.querySelectorAll("input:not([type=hidden])")) field.value = "";
    }
    await see();
  });

  const sounds = byId("sound");
  if (window.AudioContext) {
    sounds.hidden = false;
    sounds.addEventListener("click", async () => {
      if (sound) {
        await sound.close();
        sound = null;
      } else {
        sound = new AudioContext();
        beep(1, 660);
      }
      sounds.textContent = sound ? "Sound off" : "Sound on";
      sounds.setAttribute("aria-pressed", String(Boolean(sound)));
      button.focus();
    });
  }
  let lock = null;
  const awake = async () => {
    try {
      if (document.visibilityState === "visible" && "wakeLock" in navigator) lock = await navigator.wakeLock.request("screen");
    } catch {
      lock = null;
    }
  };
  document.addEventListener("visibilitychange", awake);
  document.addEventListener("pointerdown", awake, { once: true });
  awake();
  button.focus();
  section.dataset.ready = "";
  see().then(send);
  setInterval(see, 1000);
  setInterval(tick, 200);
  setInterval(send, 2000);
}

// Today moves by itself.

function today(spot) {
  const address = spot.dataset.load + location.search;
  setInterval(async () => {
    if (document.visibilityState !== "visible") return;
    try {
      const answer = await ask(address);
      if (answer.ok) place((await answer.json()).parts);
    } catch {
      // The next round asks again.
    }
  }, 1000 * Number(spot.dataset.every));
}

/** Rules are asked of the chain one after the other, those in sight first, so that the rest of the program is not kept waiting. */
async function shares() {
  const open = [...document.querySelectorAll(".shares[data-load]")];
  while (open.length) {
    const seen = open.findIndex((spot) => spot.getBoundingClientRect().top >= 0 && spot.getBoundingClientRect().top < innerHeight);
    const [spot] = open.splice(Math.max(0, seen), 1);
    if (!(await load(spot, spot.dataset.load))) break;
  }
}

if (byId("whatif")) what_if(byId("whatif"));
if (byId("card")) card(byId("card"));
if (byId("clock")) clock(byId("clock"));
if (byId("today")) today(byId("today"));
if (byId("result")) load(byId("result"), byId("result").dataset.load);
if (byId("map-part")?.dataset.load) load(byId("map-part"), byId("map-part").dataset.load);
if (document.querySelector(".shares[data-load]")) shares();
if (byId("print")) byId("print").addEventListener("click", () => window.print());

// In front of a class: a knob is turned, the link follows, and so do the curves once they may be seen.

function in_class(room) {
  const form = byId("turn");
  const status = byId("class-status");
  let busy = false;
  let again = false;
  let latest = 0;
  let settle = 0;
  for (const slide of form.querySelectorAll(".slide")) slide.hidden = false;
  byId("class-turn").hidden = true;
  const material = byId("class-material");
  material.form.querySelector("button").hidden = true;
  material.addEventListener("change", () => material.form.requestSubmit());

  const send = async (points, deed) => {
    if (busy && !deed) {
      again = true;
      return null;
    }
    busy = true;
    again = false;
    latest += 1;
    const mine = latest;
    const query = new URLSearchParams(new FormData(form));
    if (points) query.set("points", points);
    if (deed) query.set("do", deed);
    let came = null;
    try {
      const answer = await ask(`${form.dataset.parts}?${query}`);
      came = await answer.json();
      // A button that was pressed meanwhile is answered by itself.
      if (mine !== latest) return null;
      place(came.parts);
      history.replaceState(null, "", came.link);
      byId("class-reveal").hidden = !came.conceals;
      room.toggleAttribute("data-conceals", came.conceals);
      status.textContent = came.says;
      mark();
    } catch {
      status.textContent = "The program does not answer.";
    }
    busy = false;
    if (again) return send("first");
    if (came && !came.sharp) {
      clearTimeout(settle);
      settle = setTimeout(() => send(""), 400);
    }
    return came;
  };

  // A knob that stands otherwise than usual is marked beside it.
  const mark = () => {
    for (const knob of form.querySelectorAll(".knob")) knob.classList.toggle("moved", knob.querySelector(".by").textContent.includes("usual"));
  };

  form.addEventListener("input", (event) => {
    const field = event.target;
    if (!field.closest(".knob")) return;
    if (field.classList.contains("slide")) {
      form.elements.namedItem(field.dataset.for).value = String(slid(field));
    } else {
      const slide = field.closest(".knob").querySelector(".slide");
      const number = Number.parseFloat(field.value.replace(",", "."));
      if (slide && Number.isFinite(number)) slide.value = 1000 * unslid(slide, number);
    }
    clearTimeout(settle);
    send("first");
  });

  form.addEventListener("submit", async (event) => {
    const deed = event.submitter && event.submitter.name === "do" ? event.submitter.value : "";
    if (deed === "back" || deed === "release") return;
    event.preventDefault();
    const came = await send("", deed);
    if (came && deed === "reveal" && !came.conceals) byId("class-came")?.focus({ preventScroll: false });
  });

  mark();
  room.dataset.ready = "";
}

if (byId("class")) in_class(byId("class"));
// Questions: what takes some seconds says so and is sent once; a part comes when it is asked for; a file is read into its field.

for (const form of document.querySelectorAll("form[data-busy]")) {
  form.addEventListener("submit", () => {
    form.querySelector("[role=status]").textContent = form.dataset.busy;
    form.querySelector("button.go").disabled = true;
  });
}
// A page that comes back from the history of the browser can be sent again.
addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const form of document.querySelectorAll("form[data-busy]")) {
    form.querySelector("[role=status]").textContent = "";
    form.querySelector("button.go").disabled = false;
  }
});
for (const link of document.querySelectorAll("a[data-part]")) {
  link.addEventListener("click", (event) => {
    event.preventDefault();
    const spot = byId(link.dataset.into);
    const status = spot.querySelector("[role=status]");
    if (status.textContent) return;
    status.textContent = "Every key is being asked for again; this takes some seconds.";
    load(spot, link.dataset.part);
  });
}
// Answers that are not kept yet outlive a reload of their page, in this tab alone.
for (const form of document.querySelectorAll("form[data-draft]")) {
  const key = `draft ${form.dataset.draft}`;
  const answers = (list) => list.filter(([name]) => /^(answer|step):/.test(name));
  const draft = sessionStorage.getItem(key);
  if (draft) {
    const stood = new Map(JSON.parse(draft));
    for (const field of form.elements) {
      if (!stood.has(field.name)) continue;
      const text = stood.get(field.name);
      if (field.type === "radio") field.checked = field.value === text;
      else field.value = text;
    }
    form.querySelector("[data-drafted]").hidden = false;
  }
  form.addEventListener("input", () => sessionStorage.setItem(key, JSON.stringify(answers([...new FormData(form)]))));
  form.addEventListener("submit", () => sessionStorage.removeItem(key));
}
for (const spot of document.querySelectorAll("[data-with-script]")) spot.hidden = false;
for (const field of document.querySelectorAll("[data-read-into]")) {
  field.addEventListener("change", async () => {
    if (field.files.length) byId(field.dataset.readInto).value = await field.files[0].text();
  });
}
