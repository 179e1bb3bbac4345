// Every screen by itself: fits small phones without scrolling, keeps its touch targets, reads well, in both themes.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { LAPTOP, PHONE, axe, device, misfits, openBrowser, picture, smallTargets } from './browser.mjs';
import { paperDesk } from './fixture/desk.mjs';
import { SCENES } from './fixture/scenes.mjs';

const SMALL = [PHONE, { width: 390, height: 664 }, { width: 360, height: 740 }, { width: 360, height: 640 }];
let browser;
let desk;
before(async () => {
  desk = await paperDesk();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await desk?.stop();
});

async function at(size, more = {}) {
  desk.scene = 'quiet';
  const page = await device(browser, { size, ...more });
  await page.goto(desk.url);
  await page.locator('.before').waitFor();
  return page;
}

async function show(page, scene) {
  desk.show(scene);
  await page.waitForTimeout(260);
}

/** Checks every scene; gives all faults at once, so that one run tells all. */
async function everyScene(page, look) {
  const faults = [];
  for (const scene of Object.keys(SCENES)) {
    await show(page, scene);
    faults.push(...(await look(scene)).map((fault) => `${scene}: ${fault}`));
  }
  assert.deepEqual(faults, []);
  assert.deepEqual(page.faults, []);
  await page.context().close();
}

for (const size of SMALL) {
  const name = `${size.width}x${size.height}`;
  test(`no alarm screen scrolls or cuts words off at ${name}, and targets are 64 px`, async () => {
    const page = await at(size);
    await everyScene(page, async (scene) => {
      if (size !== SMALL[1]) await picture(page, `paper-${name}-${scene}`);
      return [...(await misfits(page)), ...(await smallTargets(page)).map((target) => `small target ${target}`)];
    });
  });
}

for (const [theme, dusk] of [
  ['sun', false],
  ['dusk', true],
]) {
  test(`axe finds nothing serious on a phone, ${theme}`, async () => {
    const page = await at(PHONE, { dusk });
    await everyScene(page, async (scene) => {
      if (dusk) await picture(page, `paper-390x844-dusk-${scene}`);
      return axe(page);
    });
  });

  test(`the laptop shows it all at once, ${theme}`, async () => {
    const page = await at(LAPTOP, { dusk });
    await everyScene(page, async (scene) => {
      await picture(page, `paper-1280x800-${theme}-${scene}`);
      return [...(await misfits(page)), ...(dusk ? [] : await axe(page))];
    });
  });
}

test('every page over the room fits its width, closes by Escape, and has no serious finding', async () => {
  const faults = [];
  for (const [size, dusk] of [[PHONE, false], [{ width: 360, height: 640 }, true]]) {
    const page = await at(size, { dusk });
    await show(page, 'lead');
    await page.getByRole('button', { name: 'Other report' }).click();
    const names = await page.locator('.sheet .menu button').allTextContents();
    assert.ok(names.length >= 14, names.join(', '));
    await picture(page, `paper-${size.width}x${size.height}-sheet-menu`);
    for (const name of names) {
      if (await page.locator('.sheet').count() === 0) await page.getByRole('button', { name: 'Other report' }).click();
      await page.locator('.sheet .menu').getByRole('button', { name, exact: true }).click();
      await page.waitForTimeout(120);
      if (await page.locator('.sheet').count() === 0) continue;
      await picture(page, `paper-${size.width}x${size.height}-sheet-${name.toLowerCase().replaceAll(/[^a-z]+/g, '-')}`);
      const wide = await page.evaluate(() => [...document.querySelectorAll('.sheet *')].filter((node) => node.getBoundingClientRect().right > innerWidth + 1).length);
      if (wide > 0) faults.push(`${name} at ${size.width}: ${wide} things stick out`);
      for (const fault of await axe(page)) faults.push(`${name}: ${fault}`);
      await page.keyboard.press('Escape');
      await page.locator('.sheet').waitFor({ state: 'detached' });
    }
    assert.deepEqual(page.faults, []);
    await page.context().close();
  }
  assert.deepEqual(faults, []);
});

test('a number opens its explanation with every input and its standing', async () => {
  const page = await at(PHONE);
  await show(page, 'lead');
  await page.locator('.cut button').last().click();
  await page.locator('.bigmap').waitFor();
  await page.waitForTimeout(300);
  await picture(page, 'paper-390x844-bigmap');
  assert.deepEqual(await misfits(page), []);
  assert.deepEqual(await axe(page), []);
  await page.locator('.ms button').first().click();
  const sheet = page.locator('.sheet');
  await sheet.waitFor();
  for (const standing of ['assumed', 'common practice', 'measured here', 'published']) {
    assert.ok(await sheet.getByText(standing, { exact: true }).isVisible(), standing);
  }
  await picture(page, 'paper-390x844-explain');
  await sheet.getByRole('button', { name: /The model/ }).click();
  await sheet.getByText('How the shares come about.').waitFor();
  await page.context().close();
});

test('before the first orders the screen says that they come, and claims nothing else', async () => {
  const page = await at(PHONE);
  await show(page, 'coming');
  const text = await page.locator('.running').innerText();
  assert.match(text, /Orders in a moment/);
  assert.match(text, /Everyone out of the water/);
  assert.doesNotMatch(text, /nothing to (say|touch)|watch the lines|all said/i);
  await page.context().close();
});

test('after a restart in the middle of a search nobody reads what holds at its beginning', async () => {
  const page = await at(PHONE);
  await show(page, 'again');
  const text = await page.locator('.running').innerText();
  assert.match(text, /Orders given stand/);
  assert.doesNotMatch(text, /Everyone out of the water|Orders in a moment/);
  await page.context().close();
});

test('a name on the strip of lines is read across, also while somebody is under', async () => {
  for (const size of SMALL) {
    const page = await at(size);
    await show(page, 'down');
    const names = await page.evaluate(() => [...document.querySelectorAll('.lines .who1')].map((node) => ({ words: node.textContent, high: node.getBoundingClientRect().height })));
    assert.ok(names.length > 0 && names.every((one) => one.high < 30), JSON.stringify({ size, names }));
    assert.match(await page.locator('.lines').innerText(), /under 1\d s/);
    await picture(page, `paper-${size.width}x${size.height}-down`);
    await page.context().close();
  }
});

test('an order is three lines at arm’s length, and the rest smaller under it, whole', async () => {
  const page = await at(PHONE);
  await show(page, 'long');
  const seen = await page.evaluate(() => {
    const say = document.querySelector('.order .say');
    const then = document.querySelector('.order .then');
    const style = getComputedStyle(say);
    return { lines: Math.round(say.getBoundingClientRect().height / parseFloat(style.lineHeight)), size: parseFloat(style.fontSize), then: parseFloat(getComputedStyle(then).fontSize), text: `${say.innerText} ${then.innerText}` };
  });
  assert.ok(seen.lines <= 3 && seen.size >= 28 && seen.then >= 17 && seen.then < seen.size, JSON.stringify(seen));
  assert.match(seen.text.replaceAll('\u00a0', ' ').replaceAll('\u2060', ''), /From 12 m north-east to 17 m north-west of the marker\.\s+Go south-west, bearing 236, 14 m, 5 dives\. At the end count, report, hold\./);
  // Nothing on the strip of the lines is cut.
  const cut = await page.evaluate(() => [...document.querySelectorAll('.lines button, .lines button span')].filter((node) => node.scrollWidth > node.clientWidth + 2 && node.clientWidth > 0).map((node) => node.textContent));
  assert.deepEqual(cut, []);
  assert.match(await page.locator('.lines').innerText(), /searches round the\s+marker/);
  await page.context().close();
});

test('states stay apart for colour-blind eyes and in grey', async () => {
  const page = await at(PHONE);
  const client = await page.context().newCDPSession(page);
  for (const type of ['deuteranopia', 'protanopia', 'tritanopia', 'achromatopsia']) {
    await client.send('Emulation.setEmulatedVisionDeficiency', { type });
    for (const scene of ['lead', 'short']) {
      await show(page, scene);
      await picture(page, `paper-${type}-${scene}`);
    }
  }
  await page.context().close();
});

test('at 200 % zoom everything flows and can be reached', async () => {
  const page = await at({ width: 640, height: 400 });
  for (const scene of ['quiet', 'asking', 'lead', 'recorder', 'dive', 'gate', 'short', 'found', 'practice']) {
    await show(page, scene);
    const { wide, reach } = await page.evaluate(() => {
      const buttons = [...document.querySelectorAll('.phone button')].filter((node) => node.getBoundingClientRect().width > 0 && !node.closest('.vh'));
      const bottom = Math.max(...buttons.map((node) => node.getBoundingClientRect().bottom + scrollY));
      return { wide: document.documentElement.scrollWidth > innerWidth + 1, reach: bottom <= document.documentElement.scrollHeight + 1 };
    });
    assert.deepEqual({ scene, wide, reach }, { scene, wide: false, reach: true });
    await page.screenshot({ path: `target/screens/paper-zoom-${scene}.png`, fullPage: true });
  }
  await page.context().close();
});

test('the first load is under 400 kB compressed and usable within 2 s on a CPU four times slower', async () => {
  const page = await device(browser, { size: PHONE });
  const client = await page.context().newCDPSession(page);
  await client.send('Emulation.setCPUThrottlingRate', { rate: 4 });
  desk.scene = 'quiet';
  desk.bytes = 0;
  const begun = performance.now();
  await page.goto(desk.url, { waitUntil: 'commit' });
  await page.locator('.big1').waitFor();
  await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve))));
  const usable_s = (performance.now() - begun) / 1000;
  await page.waitForTimeout(3000);
  const { bytes } = desk;
  console.log(`first load ${(bytes / 1000).toFixed(0)} kB compressed with map, fonts and what the worker keeps; usable after ${usable_s.toFixed(2)} s`);
  assert.ok(bytes < 400_000, `${bytes} bytes`);
  assert.ok(usable_s < 2, `${usable_s} s`);
  await page.context().close();
});
