// Opens a packet in a headless browser and prints what it sees as JSON; the Rust side decides what is right.
// usage: node page.mjs BROWSER PACKET.html MODULES [--print]
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import path from "node:path";
import { readFileSync } from "node:fs";

const [browserPath, packet, modules, print] = process.argv.slice(2);
const require = createRequire(path.join(modules, "node_modules", "x.js"));
const puppeteer = require("puppeteer-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const browser = await puppeteer.launch({
  executablePath: browserPath,
  args: ["--no-sandbox", "--disable-gpu"],
  protocolTimeout: 240000,
});
const out = { messages: [], requests: [] };
try {
  const page = await browser.newPage();
  page.on("console", (message) => out.messages.push(message.text()));
  page.on("pageerror", (error) => out.messages.push(String(error)));
  page.on("request", (request) => out.requests.push(request.url()));
  await page.setViewport({ width: 1366, height: 900 });
  const url = pathToFileURL(packet).href;
  await page.goto(url);

  // Every box on the elevations, measured in the drawing's own units from what is drawn.
  out.boxes = await page.evaluate(() =>
    [...document.querySelectorAll("svg.elevation g[data-box]")].map((group) => {
      const rect = group.querySelector("rect.bx").getBBox();
      const { box, centre, along, scale, floor } = group.dataset;
      return { box, centre, along, scale: +scale, floor: +floor, top: rect.y, middle: rect.y + rect.height / 2, x: rect.x + rect.width / 2 };
    }),
  );
  out.scripts = await page.evaluate(() => document.scripts.length);

  out.width = {};
  for (const width of [360, 768, 1366]) {
    await page.setViewport({ width, height: 800 });
    out.width[width] = await page.evaluate(() => document.documentElement.scrollWidth);
  }

  out.axe = [];
  for (const scheme of ["light", "dark"]) {
    await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
    await page.setViewport({ width: 1366, height: 900 });
    await page.evaluate(axe);
    const found = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
    for (const one of found.violations) {
      out.axe.push({ scheme, id: one.id, impact: one.impact, count: one.nodes.length, first: one.nodes[0]?.html.slice(0, 200) });
    }
  }

  if (print === "--print") {
    out.print = {};
    // Letter and A4, less the margins of the page, in CSS pixels.
    for (const [format, width] of [["Letter", (8.5 - 26 / 25.4) * 96], ["A4", ((210 - 26) / 25.4) * 96]]) {
      await page.emulateMediaType("print");
      await page.setViewport({ width: Math.floor(width), height: 1000 });
      const wide = await page.evaluate((limit) => {
        const all = [...document.querySelectorAll("table, svg.drawing, pre, p")];
        return all.filter((it) => it.getBoundingClientRect().right > limit + 1).map((it) => it.outerHTML.slice(0, 120));
      }, Math.floor(width));
      const pdf = await page.pdf({ format, printBackground: true, preferCSSPageSize: false, timeout: 240000 });
      const text = Buffer.from(pdf).toString("latin1");
      out.print[format] = { wide, pages: (text.match(/\/Type\s*\/Page[^s]/g) ?? []).length };
    }
  }
} finally {
  await browser.close();
}
process.stdout.write(JSON.stringify(out));
