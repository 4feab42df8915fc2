// A practical marked by two, each blind of the other; its results; the sheet for the bench.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import test from "node:test";
import { browser, folder, serve, watched } from "./run.mjs";
import { crowded, unfolded, violations } from "./seen.mjs";

const AT = "/practical/PRAC-0001";

/** Opens a practical by clicking. */
async function opened(page, server) {
  await page.goto(`${server.url}/practical`);
  await page.getByLabel("Marked by the rubric").selectOption("impression");
  await page.getByLabel("What it is about").fill("Upper first premolar");
  await page.getByRole("button", { name: "Open it" }).click();
  await page.waitForURL(new RegExp(`${AT}$`));
}

async function begun(page, server, learner, marker) {
  await page.goto(server.url + AT);
  await page.getByLabel("Code of the learner").fill(learner);
  await page.getByLabel("Initials of the marker").fill(marker);
  await page.getByRole("button", { name: "Rate", exact: true }).click();
  await page.getByRole("heading", { name: `${learner}, rated by ${marker}` }).waitFor();
}

/** Rates everything by clicking: the best level, but where `but` says another place. */
async function rated(page, server, learner, marker, but = {}) {
  await begun(page, server, learner, marker);
  for (const field of await page.locator("fieldset.look").all()) {
    const choices = field.locator("input");
    const name = (await choices.first().getAttribute("name")).replace("level-", "");
    // The last choice is that it could not be seen, the best level stands before it.
    await choices.nth(but[name] ?? (await choices.count()) - 2).check();
  }
  await page.getByRole("button", { name: "Save these ratings" }).click();
  await page.getByText("All 11 are saved.").waitFor();
}

test("two mark side by side, one of them by keyboard alone, and neither sees the other before all is saved", async (t) => {
  const server = await serve(t, folder(t), 0, []);
  const one = await browser(t);
  const left = await watched(t, one, server);
  const right = await watched(t, one, server);
  await opened(left, server);
  await begun(right, server, "S-01", "CD");
  await rated(left, server, "S-01", "AB", { void: 0, seating: 1 });
  assert.equal(await left.locator(".other").count(), 0);

  // The right one began before and loads again: nothing of the left one is there.
  await right.reload();
  assert.doesNotMatch(await right.content(), /AB/);
  const to = async (wanted) => {
    for (let presses = 0; presses < 80; presses += 1) {
      await right.keyboard.press("Tab");
      const on = await right.evaluate(() => document.activeElement.name || document.activeElement.textContent.trim());
      if (on === wanted) return;
    }
    assert.fail(`no way by keyboard to ${wanted}`);
  };
  const names = await right.locator("fieldset.look").evaluateAll((all) => all.map((field) => field.querySelector("input").name));
  assert.equal(names.length, 11);
  // All but the last: then nothing is shown yet.
  for (const name of names.slice(0, -1)) {
    await to(name);
    // From the first choice upwards, round the end: "could not see it" is last, and the best level before it.
    await right.keyboard.press("ArrowUp");
    await right.keyboard.press("ArrowUp");
  }
  await to("Save these ratings");
  await right.keyboard.press("Enter");
  await right.getByText("10 of 11 are saved; still open: rinsed, disinfected and labelled.").waitFor();
  assert.doesNotMatch(await right.content(), /AB/);
  const checked = await right.locator("fieldset.look input:checked").evaluateAll((all) => all.map((input) => input.nextElementSibling.textContent));
  assert.equal(checked.length, 10);
  assert.ok(!checked.includes("could not see it"), checked.join("; "));
  await left.goto(`${server.url}${AT}/result`);
  await left.getByText("CD has 1 of 11 open").waitFor();
  assert.doesNotMatch(await left.locator("main").innerText(), /a void at the finish line/);

  await to(names.at(-1));
  await right.keyboard.press("Space");
  await to("Save these ratings");
  await right.keyboard.press("Enter");
  await right.getByText("All 11 are saved.").waitFor();
  assert.equal(await right.locator(".other").count(), 11);
  await right.getByText("AB: a void at the finish line").waitFor();

  await left.reload();
  const line = left.locator("details.profile > summary");
  assert.match(await line.innerText(), /S-01\s+disputed\s+voids.*at its worst.*3 differences/);
  await line.click();
  const order = await left.locator("details.profile ol li b").allInnerTexts();
  assert.deepEqual(order, ["voids", "rinsed, disinfected and labelled", "seating of the tray"]);
  assert.match(await left.locator("main").innerText(), /too few cases rated by all/);
  await left.getByLabel("Reference marking").selectOption("AB");
  await left.getByRole("button", { name: "Compare" }).click();
  await left.getByRole("heading", { name: "CD against AB" }).waitFor();
  await left.getByText("voids: passed over or taken lightly in 1 of 1 case").waitFor();
});

test("every page of practicals: no violation, nothing cut off, targets large enough", async (t) => {
  const server = await serve(t, folder(t), 0, []);
  const one = await browser(t);
  const maker = await watched(t, one, server);
  await opened(maker, server);
  for (const [learner, but] of [["S-01", { void: 0 }], ["S-02", { margin: 1, blood: 3 }], ["S-03", {}]]) {
    await rated(maker, server, learner, "AB", but);
    await rated(maker, server, learner, "CD", { drag: 1 });
  }
  const addresses = ["/practical", AT, `${AT}/rate?learner=S-01&marker=AB`, `${AT}/rate?learner=S-09&marker=AB`, `${AT}/rate?learner=Anna&marker=AB`, `${AT}/result`, `${AT}/result?reference=AB`, `${AT}/sheet`];
  const found = [];
  for (const [colorScheme, width] of [["light", 768], ["dark", 1280], ["light", 384]]) {
    const page = await watched(t, one, server, { colorScheme, bypassCSP: true, viewport: { width, height: 900 } });
    for (const address of addresses) {
      await page.goto(server.url + address);
      await unfolded(page);
      const where = `${address} ${colorScheme} ${width}`;
      for (const line of await violations(page)) found.push(`${where}: ${line}`);
      for (const line of await crowded(page)) found.push(`${where}: ${line}`);
    }
  }
  assert.deepEqual(found, []);
});

test("the rating sheet is one side of paper, A4 and letter, of both rubrics", async (t) => {
  const path = folder(t);
  const server = await serve(t, path, 0, []);
  const page = await watched(t, await browser(t), server);
  await opened(page, server);
  await page.goto(`${server.url}/practical`);
  await page.getByLabel("Marked by the rubric").selectOption("die");
  await page.getByLabel("What it is about").fill("Dies of the same exercise, ".repeat(7).slice(0, 199));
  await page.getByRole("button", { name: "Open it" }).click();
  for (const [code, last] of [["PRAC-0001", /done and stated/], ["PRAC-0002", /complete/]]) {
    await page.goto(`${server.url}/practical/${code}/sheet`);
    for (const format of ["A4", "Letter"]) {
      const file = join(path, `${code}-${format}.pdf`);
      writeFileSync(file, await page.pdf({ format, preferCSSPageSize: false }));
      const pages = /Pages:\s+(\d+)/.exec(execFileSync("pdfinfo", [file], { encoding: "utf8" }))[1];
      assert.equal(pages, "1", `${code} on ${format}`);
      const text = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" });
      for (const words of [/Rating sheet/, new RegExp(code), /learner, code/, /marker, initials/, /Plain faults first/, /before any micrometre/, /could not see it/, last]) {
        assert.match(text, words, `${code} on ${format}`);
      }
      assert.doesNotMatch(text, /Save these|New case/, "buttons are not printed");
    }
  }
});
