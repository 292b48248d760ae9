// Build sheets in a real browser: accessible, readable on a phone, without a network, on paper.
//
//   node check_sheet.mjs BROWSER SHEET.html...
//
// Accessible: no violation of WCAG 2.2 A and AA, nor of its own best practice, by axe-core. On a phone
// of 360 CSS pixels nothing reaches beyond the screen. Nothing is fetched. Printed on A4 and on Letter
// it takes pages of exactly that size. And a page that is none of this is found out.
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { resolve } from "node:path";
import { inflateSync } from "node:zlib";
import { chromium } from "playwright-core";

const [executablePath, ...sheets] = process.argv.slice(2);
if (!executablePath || sheets.length === 0) {
  console.error("usage: check_sheet.mjs BROWSER SHEET.html...");
  process.exit(2);
}
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
// Points; A4 is 210 by 297 mm, Letter 8.5 by 11 in.
const PAPERS = { A4: [595.28, 841.89], Letter: [612, 792] };

const browser = await chromium.launch({
  executablePath,
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"],
});

async function faults(url) {
  const found = [];
  const context = await browser.newContext({ viewport: { width: 360, height: 740 } });
  const page = await context.newPage();
  page.on("request", (r) => {
    if (r.url() !== url && !r.url().startsWith("data:")) found.push(`asks for ${r.url()}`);
  });
  page.on("console", (m) => m.type() === "error" && found.push(`console: ${m.text()}`));
  await page.goto(url);
  await page.evaluate(axe);
  for (const width of [360, 1280]) {
    await page.setViewportSize({ width, height: 740 });
    const wide = await page.evaluate(() => document.scrollingElement.scrollWidth);
    if (wide > width) found.push(`${wide} pixels wide on a screen of ${width}`);
    const result = await page.evaluate(
      (tags) => globalThis.axe.run(document, { runOnly: tags }),
      TAGS,
    );
    for (const v of result.violations) {
      found.push(`${v.id} at ${width} pixels: ${v.help}: ${v.nodes[0].html.slice(0, 100)}`);
    }
    if (result.passes.length < 10) found.push(`only ${result.passes.length} rules had a say`);
  }
  const broken = await page.evaluate(
    () => [...document.images].filter((i) => !i.complete || i.naturalWidth === 0).length,
  );
  if (broken > 0) found.push(`${broken} pictures do not show`);
  await page.emulateMedia({ media: "print" });
  for (const [format, [width, height]] of Object.entries(PAPERS)) {
    // Between margins of 15 mm, at 96 pixels to the inch.
    const inside = Math.floor((width * 96) / 72 - (30 * 96) / 25.4);
    await page.setViewportSize({ width: inside, height: 900 });
    const wide = await page.evaluate(() => document.scrollingElement.scrollWidth);
    if (wide > inside) found.push(`${wide} pixels wide between the margins of ${format}, ${inside}`);
    const pdf = (await page.pdf({ format })).toString("latin1");
    // Objects may be packed into streams: those are looked into as well.
    let all = pdf;
    for (const [, body] of pdf.matchAll(/stream\r?\n([\s\S]*?)\r?\nendstream/g)) {
      try {
        all += inflateSync(Buffer.from(body, "latin1")).toString("latin1");
      } catch {
        // Not packed this way.
      }
    }
    const boxes = [...all.matchAll(/\/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]/g)];
    const off = ([, w, h]) => Math.abs(w - width) > 1 || Math.abs(h - height) > 1;
    if (boxes.length === 0 || boxes.some(off)) {
      found.push(`on ${format}: ${boxes.map(([, w, h]) => `${w} x ${h}`).join(", ") || "no page"}`);
    }
  }
  await context.close();
  return found;
}

// A check that cannot fail is none.
const wrong =
  "<!DOCTYPE html><title></title><img src='https://example.invalid/x.png'><input>" +
  "<p style='width:900px;color:#ccc;background:#fff'>faint</p>";
const known = (await faults(`data:text/html,${encodeURIComponent(wrong)}`)).join("\n");
for (const word of ["asks for", "image-alt", "label", "color-contrast", "pixels wide on a screen", "between the margins", "do not show"]) {
  if (!known.includes(word)) {
    console.error(`this check does not find '${word}' where it is: ${known}`);
    process.exit(1);
  }
}

let bad = 0;
for (const sheet of sheets) {
  const found = await faults(pathToFileURL(resolve(sheet)).href);
  bad += found.length;
  for (const fault of found) console.error(`${sheet}: ${fault}`);
}
await browser.close();
console.log(`${sheets.length} build sheets in ${executablePath}: ${bad} faults`);
process.exit(bad === 0 ? 0 : 1);
