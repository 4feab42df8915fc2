// Load, reported: 50 cases in rotation, one request in ten a stamp, 200 requests a second. Every request has its moment, and its
// latency counts from that moment, so that a server that falls behind is seen to. Then: the first picture after a what-if move.
//   node load.mjs [seconds]
import { setTimeout as sleep } from "node:timers/promises";
import { Agent, request } from "node:http";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { browser, serve } from "./run.mjs";

const RATE = 200;
const CASES = 50;
const length = Number(process.argv[2] ?? 30);
const after = [];
const t = { after: (work) => after.push(work) };
const path = mkdtempSync(join(tmpdir(), "trayward-load-"));
const server = await serve(t, path);
const agent = new Agent({ keepAlive: true, maxSockets: 64 });

function ask(method, address, body) {
  return new Promise((done, failed) => {
    const headers = body ? { "content-type": "application/x-www-form-urlencoded", accept: "application/json", "content-length": Buffer.byteLength(body) } : {};
    const asked = request(`${server.url}${address}`, { method, agent, headers }, (answer) => {
      const chunks = [];
      answer.on("data", (chunk) => chunks.push(chunk));
      answer.on("end", () => done({ status: answer.statusCode, location: answer.headers.location, text: Buffer.concat(chunks).toString() }));
    });
    asked.on("error", failed);
    asked.end(body);
  });
}

const token = /name="token" content="([^"]+)"/.exec((await ask("GET", "/")).text)[1];
const form = (fields) => new URLSearchParams({ token, ...fields }).toString();
const codes = [];
for (let number = 0; number < CASES; number += 1) {
  const purpose = ["crown", "bridge", "study cast"][number % 3];
  const made = await ask("POST", "/new", form({ purpose, tooth: "36", depth: "1", gum: "damp" }));
  codes.push(made.location.split("/").pop());
  await ask("GET", `/case/${codes[number]}/clock.json`);
}

const kinds = { stamp: [], clock: [], card: [] };
const wrong = new Map();
const began = performance.now();
const total = RATE * length;
const under_way = [];
for (let number = 0; number < total; number += 1) {
  const moment = began + (1000 * number) / RATE;
  const wait = moment - performance.now();
  if (wait > 1) await sleep(wait);
  const code = codes[number % CASES];
  const round = Math.floor(number / CASES);
  const kind = number % 10 === 0 ? "stamp" : number % 10 === 5 ? "card" : "clock";
  const sent = {
    stamp: () => ask("POST", `/case/${code}/do`, form({ line: round % 2 ? "back" : "stamp" })),
    clock: () => ask("GET", `/case/${code}/clock.json`),
    card: () => ask("GET", `/case/${code}`),
  }[kind]();
  under_way.push(
    sent.then((answer) => {
      kinds[kind].push(performance.now() - moment);
      if (answer.status !== 200) wrong.set(`${kind} ${answer.status}`, (wrong.get(`${kind} ${answer.status}`) ?? 0) + 1);
    }),
  );
}
await Promise.all(under_way);
const spent = (performance.now() - began) / 1000;
const share = (list, p) => [...list].sort((a, b) => a - b)[Math.min(list.length - 1, Math.floor(p * list.length))].toFixed(1);
const line = (name, list) => `${name.padEnd(9)} ${String(list.length).padStart(6)}   ${[0.5, 0.95, 0.99].map((p) => share(list, p).padStart(7)).join(" ")} ${Math.max(...list).toFixed(1).padStart(8)}`;
console.log(`${total} requests in ${spent.toFixed(1)} s, ${(total / spent).toFixed(0)} a second; ${CASES} cases in rotation, 2 cores shared with the generator`);
console.log("ms         number       50 %    95 %    99 %      most");
for (const [name, list] of Object.entries(kinds)) console.log(line(name, list));
console.log(line("all", Object.values(kinds).flat()));
console.log(wrong.size ? `not done: ${[...wrong].map(([what, count]) => `${count} ${what}`).join(", ")}` : "every one was answered as asked");

const opened = await browser(t);
const page = await opened.newPage({ viewport: { width: 768, height: 1024 } });
await page.goto(`${server.url}/case/DEMO-01`);
await page.getByText(/^From .*512 samples of each/).waitFor();
await page.locator("#thickness").waitFor();
const slider = page.getByLabel("Room, by sliding", { exact: true });
await slider.focus();
const moves = [];
for (let move = 0; move < 20; move += 1) {
  await page.evaluate(() => delete document.documentElement.dataset.moved);
  await page.keyboard.press(move % 2 ? "ArrowRight" : "ArrowLeft");
  await page.waitForFunction(() => document.documentElement.dataset.moved);
  moves.push(Number(await page.evaluate(() => document.documentElement.dataset.moved)));
  await page.waitForTimeout(1200);
}
console.log(`what-if, from the move to the first picture in its place, ms: middle ${share(moves, 0.5)}, 95 % ${share(moves, 0.95)}, most ${Math.max(...moves)}`);
for (const work of after.reverse()) await work();
rmSync(path, { recursive: true, force: true });
