// Accessibility, targets, widths, zoom: every page, light and dark.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import test from "node:test";
import { browser, folder, serve, watched } from "./run.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

const PAGES = [
  "/",
  "/new",
  "/stock",
  "/rules",
  "/rules/alginate-pour-by",
  "/sources",
  "/sources/checks",
  "/sources/coverage",
  "/sources/model",
  "/source/alginate/syneresis.strain",
  "/case/DEMO-01",
  "/case/DEMO-06",
  "/case/DEMO-01/clock",
  "/case/DEMO-31/clock",
  "/case/DEMO-01/facts",
  "/case/DEMO-31/inspect",
  "/case/DEMO-27/check",
  "/case/DEMO-01/prints",
  "/case/DEMO-01/print/card",
  "/case/DEMO-01/print/sheet",
  "/case/DEMO-01/source/die.diameter",
  "/print/pour",
  "/nowhere",
];

async function settled(page, url) {
  await page.goto(url);
  if (/\/case\/[A-Z]+-\d+$/.test(url)) {
    await page.getByText(/^From .*512 samples of each/).waitFor();
    await page.locator("#thickness").waitFor();
  }
  if (url.endsWith("/check")) await page.locator("#result h2").nth(1).waitFor();
  for (const closed of await page.locator("details:not([open]) > summary").all()) {
    if (await closed.isVisible()) await closed.click();
  }
}

for (const colorScheme of ["light", "dark"]) {
  test(`no violation that a checker knows, ${colorScheme}`, async (t) => {
    const server = await serve(t, folder(t));
    const page = await watched(t, await browser(t), server, { colorScheme, bypassCSP: true });
    const found = [];
    for (const address of PAGES) {
      await settled(page, server.url + address);
      await page.evaluate(axe);
      const { violations } = await page.evaluate(() =>
        globalThis.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }),
      );
      for (const violation of violations) {
        found.push(`${address}: ${violation.id}: ${violation.nodes.map((node) => node.html.slice(0, 120)).slice(0, 3).join(" | ")}`);
      }
    }
    assert.deepEqual(found, []);
  });
}

test("targets are large enough, and nothing is cut off at 768 and 1280 pixels and at twice the size", async (t) => {
  const server = await serve(t, folder(t));
  const opened = await browser(t);
  const wrong = [];
  // Twice the size on a screen is half the width in its own pixels.
  for (const width of [768, 1280, 640, 384]) {
    const page = await watched(t, opened, server, { viewport: { width, height: 900 } });
    for (const address of PAGES) {
      await settled(page, server.url + address);
      const report = await page.evaluate(() => {
        const list = [];
        if (document.documentElement.scrollWidth > innerWidth + 1) list.push(`wider than the screen by ${document.documentElement.scrollWidth - innerWidth}`);
        for (const target of document.querySelectorAll("button, .button, nav a, summary, select, input:not([type=hidden])")) {
          const box = (target.closest(".tile") ?? target).getBoundingClientRect();
          if (box.width === 0 || getComputedStyle(target).visibility === "hidden") continue;
          const slides = target.type === "range";
          if (box.height < 43.5 || (box.width < 43.5 && !slides)) list.push(`${target.tagName} ${target.textContent.trim().slice(0, 30)} ${target.name ?? ""}: ${box.width.toFixed(0)} by ${box.height.toFixed(0)}`);
        }
        return list;
      });
      for (const line of report) wrong.push(`${width} ${address}: ${line}`);
    }
    await page.close();
  }
  assert.deepEqual(wrong, []);
});

test("the figures of the clock are read from a metre away", async (t) => {
  const server = await serve(t, folder(t));
  const page = await watched(t, await browser(t), server);
  await page.goto(`${server.url}/case/DEMO-01/clock`);
  const size = await page.locator("#count").evaluate((figure) => Number.parseFloat(getComputedStyle(figure).fontSize));
  assert.ok(size >= 54, `${size}`);
});
