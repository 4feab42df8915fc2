// A set of questions from composing to the analysis: printed, answered by six learners, marked.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import test from "node:test";
import { browser, folder, serve, watched } from "./run.mjs";
import { crowded, unfolded, violations } from "./seen.mjs";

/** Composes a set of six items, or of as many as there are templates for. */
async function composed(page, server) {
  await page.goto(`${server.url}/questions`);
  await page.getByLabel("Number of the set").fill("41");
  await page.getByLabel("Items, 1 to 60").fill("6");
  await page.getByRole("button", { name: "Compose the set" }).click();
  await page.waitForURL(/\/questions\/SET-0041$/);
  return `${server.url}/questions/SET-0041`;
}

/** The items of the set as the table of answers names them, with an answer to each that can be read. */
async function answers(page, set) {
  const header = (await (await page.request.get(`${set}/table.csv`)).text()).trim();
  await page.goto(`${set}/answer?learner=Z-99`);
  const cells = await page.locator("section.asked").evaluateAll((sections) =>
    sections.map((section) => {
      if (section.querySelector("input[type=radio]")) return "A";
      const steps = section.querySelectorAll("select").length;
      return steps ? "ABCDEFGHIJ".slice(0, steps).split("").join(">") : "2,5";
    }),
  );
  return { header, cells };
}

/** Answers of `count` learners, brought in as a table. */
async function bring(page, set, first, count) {
  const { header, cells } = await answers(page, set);
  const lines = [];
  for (let n = first; n < first + count; n++) lines.push([`S-${String(n).padStart(2, "0")}`, ...cells.map((cell) => (cell === "A" && n % 2 ? "B" : cell))].map((cell) => `"${cell}"`).join(","));
  await page.goto(`${set}/table`);
  await page.getByLabel("Table", { exact: true }).fill([header, ...lines].join("\n"));
  await page.getByRole("button", { name: "Keep these answers" }).click();
  await page.getByText("answered: S-").waitFor();
}

test("a set is composed, printed, answered, marked and analysed", async (t) => {
  const path = folder(t);
  const server = await serve(t, path);
  const page = await watched(t, await browser(t), server);
  const set = await composed(page, server);
  assert.match(await page.locator("main").innerText(), /What it froze/);

  // Fewer templates than items are said; every key is asked for again where one is.
  const items = await page.locator("main table tbody tr").count();
  if (items < 6) assert.match(await page.locator("main").innerText(), /asked for, \d+ to be had/);
  await page.getByRole("link", { name: "Ask for every key again" }).click();
  await page.getByText("every item would come out the same today").waitFor();

  // Paper: every question whole on its page, and no key among them.
  await page.goto(`${set}/sheet`);
  const questions = await page.locator("section.asked").count();
  assert.equal(questions, items);
  for (const [name, wanted, never] of [
    ["sheet", [/SET-0041/, /never a name/, /Question 1\b/, /parameters [0-9a-f]{12}/], /Why:|believes|Print\b/],
    ["key", [/Key of set SET-0041/, /Why:/, /Rests on/, /The key holds/], /Print\b/],
  ]) {
    await page.goto(`${set}/${name}`);
    for (const format of ["A4", "Letter"]) {
      const file = join(path, `${name}-${format}.pdf`);
      writeFileSync(file, await page.pdf({ format, preferCSSPageSize: false }));
      assert.ok(Number(/Pages:\s+(\d+)/.exec(execFileSync("pdfinfo", [file], { encoding: "utf8" }))[1]) >= 1);
      const text = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" });
      for (const words of wanted) assert.match(text, words, `${name} on ${format}`);
      assert.doesNotMatch(text, never, `${name} on ${format}`);
    }
  }

  // One learner answers by keyboard alone.
  await page.goto(`${set}/answer`);
  await page.getByLabel(/^Your code/).focus();
  await page.keyboard.type("S-01");
  await page.keyboard.press("Enter");
  await page.waitForURL(/learner=S-01/);
  const sections = await page.locator("section.asked").count();
  const focused = () => page.evaluate(() => ({ tag: document.activeElement.tagName, type: document.activeElement.type, text: document.activeElement.textContent.trim(), asked: Boolean(document.activeElement.closest("section.asked")) }));
  const told = [];
  for (let press = 0; press < 40 + 12 * sections; press++) {
    await page.keyboard.press("Tab");
    const here = await focused();
    if (here.text === "Keep my answers") break;
    if (!here.asked) continue;
    if (here.type === "radio") {
      // From "no answer", the last, round to the first.
      await page.keyboard.press("ArrowDown");
      told.push("choice");
    } else if (here.tag === "SELECT") {
      const place = await page.evaluate(() => [...document.activeElement.closest("ul").querySelectorAll("select")].indexOf(document.activeElement) + 1);
      await page.keyboard.type(String(place));
      told.push("step");
    } else if (here.tag === "INPUT") {
      await page.keyboard.type("2,5");
      told.push("number");
    }
  }
  assert.ok(told.length >= items, String(told));
  await page.keyboard.press("Enter");
  await page.getByText(new RegExp(`Kept: ${items} of ${items} answered`)).waitFor();

  // The rest by table; a table with a problem keeps nothing.
  await page.goto(`${set}/table`);
  const { header } = await answers(page, set);
  await page.goto(`${set}/table`);
  await page.getByLabel("Table", { exact: true }).fill(`${header.split("\n")[0]}\nAnna${",".repeat(items)}`);
  await page.getByRole("button", { name: "Keep these answers" }).click();
  await page.getByRole("heading", { name: "Nothing was kept" }).waitFor();
  assert.match(await page.locator("[role=alert]").innerText(), /2\s+1\s+learner\s+"Anna"\s+a code of one to three capital letters/);
  await page.goto(`${set}/table`);
  assert.match(await page.locator("main").innerText(), /1 learner answered: S-01\./);
  await bring(page, set, 2, 5);
  assert.match(await page.locator("main").innerText(), /6 learners answered/);

  // Marks, with the reason and the picture; after them the answers stay.
  await page.goto(`${set}/answer?learner=S-01`);
  // What is not kept yet outlives a reload, and the way to the marks keeps it first.
  const tile = page.locator("section.asked").first().locator(".tile:not(.none) input:not(:checked), select, input[inputmode]").first();
  const typed = await tile.evaluate((field) => field.type === "radio");
  if (typed) await tile.check({ force: true });
  else await tile.dispatchEvent("input");
  await page.reload();
  await page.getByText("have been filled in again").waitFor();
  await page.getByRole("button", { name: "Keep them and go to my marks" }).click();
  await page.waitForURL(/marks\?learner=S-01/);
  await page.getByText(`${items} of ${items} questions answered`).waitFor();
  await page.getByRole("button", { name: "Show my marks" }).click();
  await page.getByText(/of \d+ earned; /).waitFor();
  const marks = await page.locator("main").innerText();
  assert.match(marks, /of \d+ earned/);
  assert.match(marks, /Why\s/);
  assert.ok((await page.locator("figure.picture svg").count()) >= (await page.locator("figure.picture").count()));
  await page.goto(`${set}/answer?learner=S-01`);
  await page.getByText("the answers stay as they are").waitFor();
  assert.equal(await page.getByRole("button", { name: "Keep my answers" }).count(), 0);

  // Six are enough for a difficulty and too few for the rest.
  await page.goto(`${set}/analysis`);
  const few = await page.locator("main").innerText();
  assert.match(few, /too few learners: given 6; at least 10 are needed/);
  assert.doesNotMatch(few, /NaN|Infinity/);
  await bring(page, set, 7, 34);
  await page.goto(`${set}/analysis`);
  assert.match(await page.locator("main").innerText(), /40 learners/);
});

test("no violation, nothing cut off, targets large enough on every page of a set", async (t) => {
  const server = await serve(t, folder(t));
  const opened = await browser(t);
  const wrong = [];
  let set = "";
  for (const [colorScheme, width] of [["light", 1280], ["dark", 768], ["light", 768], ["dark", 1280], ["light", 384]]) {
    const page = await watched(t, opened, server, { colorScheme, bypassCSP: true, viewport: { width, height: 900 } });
    if (!set) {
      set = await composed(page, server);
      await bring(page, set, 1, 40);
      await page.goto(`${set}/pass`);
      await page.getByLabel(/^Initials/).fill("AB");
      for (const field of await page.locator("ul.judged input").all()) await field.fill("60");
      await page.getByRole("button", { name: "Keep what this judge expects" }).click();
      await page.getByText("Kept for AB.").waitFor();
    }
    const ends = ["", "?recheck=1", "/sheet", "/key", "/answer", "/answer?learner=Anna", "/answer?learner=S-90", "/answer?learner=S-02", "/marks?learner=S-03", "/marks?learner=S-99", "/table", "/analysis", "/pass?judge=AB", "/pass?cut_least=0&cut_most=100&fail_least=0&fail_most=90"];
    for (const address of [`${server.url}/questions`, ...ends.map((end) => set + end)]) {
      await page.goto(address);
      await unfolded(page);
      const where = `${colorScheme} ${width} ${address.replace(server.url, "")}`;
      for (const line of await crowded(page)) wrong.push(`${where}: ${line}`);
      for (const line of await violations(page)) wrong.push(`${where}: ${line}`);
    }
    await page.close();
  }
  assert.deepEqual(wrong, []);
});
