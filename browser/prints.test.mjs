// The three prints as PDF: one side of A4 and of letter each, with what belongs on them.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import test from "node:test";
import { browser, folder, serve, watched } from "./run.mjs";

const SHEETS = [
  ["card", "/case/DEMO-01/print/card", [/Case card/, /DEMO-01/, /demo/, /A usable result is/, /Pour not before/, /Lay out/, /initials/, /clearance/]],
  ["unknown", "/case/DEMO-06/print/card", [/Case card/, /Ask first/, /not answered is not/]],
  ["four", "/case/DEMO-18/print/card", [/Case card/, /DEMO-18/]],
  ["sheet", "/case/DEMO-01/print/sheet", [/Laboratory sheet/, /sodium hypochlorite/, /10 min/, /L-2403/, /S-118/, /On receipt/, /signed/, /Local legal text/]],
  ["waiting sheet", "/case/DEMO-36/print/sheet", [/Laboratory sheet/, /DEMO-36/]],
  ["pour", "/print/pour", [/Pour sheet/, /DEMO-31/, /DEMO-36/, /begin by/, /poured at/]],
];

test("one side of paper each, with its text", async (t) => {
  const path = folder(t);
  const server = await serve(t, path);
  const page = await watched(t, await browser(t), server);
  for (const [name, address, wanted] of SHEETS) {
    await page.goto(server.url + address);
    for (const format of ["A4", "Letter"]) {
      const file = join(path, `${name.replace(" ", "-")}-${format}.pdf`);
      writeFileSync(file, await page.pdf({ format, preferCSSPageSize: false }));
      const pages = /Pages:\s+(\d+)/.exec(execFileSync("pdfinfo", [file], { encoding: "utf8" }))[1];
      assert.equal(pages, "1", `${name} on ${format}`);
      const text = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" });
      for (const words of wanted) assert.match(text, words, `${name} on ${format}`);
      assert.doesNotMatch(text, /Take back|New case/, "buttons are not printed");
    }
  }
});
