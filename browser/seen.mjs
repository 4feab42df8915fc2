// What a checker of accessibility and a ruler say of a page.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Opens everything on a page that can be unfolded. */
export async function unfolded(page) {
  for (const closed of await page.locator("details:not([open]) > summary").all()) {
    if (await closed.isVisible()) await closed.click();
  }
}

/** Violations that a checker of accessibility knows; the page must run without its policy of scripts (`bypassCSP`). */
export async function violations(page) {
  await page.evaluate(axe);
  const { violations: found } = await page.evaluate(() =>
    globalThis.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }),
  );
  return found.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html.slice(0, 160)).slice(0, 3).join(" | ")}`);
}

/** What is wider than the screen, and targets that are too small for a finger. */
export function crowded(page) {
  return page.evaluate(() => {
    const list = [];
    if (document.documentElement.scrollWidth > innerWidth + 1) list.push(`wider than the screen by ${document.documentElement.scrollWidth - innerWidth}`);
    for (const target of document.querySelectorAll("button, .button, nav a, a.cell, summary, select, textarea, input:not([type=hidden])")) {
      const box = (target.closest(".tile") ?? target).getBoundingClientRect();
      if (box.width === 0 || getComputedStyle(target).visibility === "hidden") continue;
      if (box.height < 43.5 || (box.width < 43.5 && target.type !== "range")) list.push(`${target.tagName} ${target.textContent.trim().slice(0, 30)} ${target.name ?? ""}: ${box.width.toFixed(0)} by ${box.height.toFixed(0)}`);
    }
    return list;
  });
}
