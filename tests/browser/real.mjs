// The real desk on Kestrel Tarn: the program itself, in a fresh folder, killed and started again as a test wants it.
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { device } from './browser.mjs';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const WORD = 'kestrel-heron-41';

function program() {
  const found = [process.env.FATHOMLINE_PROGRAM, `${ROOT}target/debug/fathomline`, `${ROOT}target/release/fathomline`].find((path) => path && existsSync(path));
  if (!found) throw new Error('no program: cargo build --package fathomline');
  return found;
}

/** Starts a desk; its address is read from what it prints. */
export async function realDesk(more = []) {
  const data = mkdtempSync(join(tmpdir(), 'fathomline-browser-'));
  // The crew of the day, on duty at whatever hour the tests run.
  const day = join(data, 'day.toml');
  const crew = readFileSync(`${ROOT}data/sites/kestrel-tarn/day.toml`, 'utf8');
  writeFileSync(day, crew.replaceAll(/hours = \[.*\]/g, 'hours = ["00:00-24:00"]'));
  const folder = join(data, 'log');
  const desk = { data, process: null, url: '', port: 0 };
  desk.start = () =>
    new Promise((resolve, reject) => {
      const site = existsSync(join(folder, 'log.sqlite')) ? [] : ['--site', 'data/sites/kestrel-tarn', '--day', day];
      const args = ['serve', '--data', folder, ...site, '--listen', `127.0.0.1:${desk.port}`, '--word', WORD, '--particles', '2000', '--effort', '60', ...more];
      const child = spawn(program(), args, { cwd: ROOT, stdio: ['ignore', 'pipe', 'pipe'] });
      desk.process = child;
      let said = '';
      const hear = (part) => {
        said += part;
        const address = /http:\/\/127\.0\.0\.1:(\d+)/.exec(said);
        if (address && desk.url === '') desk.url = address[0];
        if (address) {
          desk.port = Number(address[1]);
          resolve(desk);
        }
      };
      child.stdout.on('data', hear);
      child.stderr.on('data', (part) => (said += part));
      child.on('exit', (code) => reject(new Error(`the desk ended (${code}):\n${said}`)));
      setTimeout(() => reject(new Error(`the desk says no address:\n${said}`)), 60_000).unref();
    });
  desk.kill = async () => {
    const { process: child } = desk;
    if (!child || child.exitCode !== null || child.signalCode !== null) return;
    const gone = new Promise((resolve) => child.on('exit', resolve));
    child.removeAllListeners('exit');
    child.on('exit', () => {});
    const ended = new Promise((resolve) => child.once('exit', resolve));
    child.kill('SIGKILL');
    await Promise.race([gone, ended]);
  };
  desk.stop = async () => {
    await desk.kill();
    rmSync(data, { recursive: true, force: true });
  };
  return desk.start();
}

/** Lets a device in by the day's word. */
export async function join_(page, desk) {
  await page.goto(desk.url);
  await page.getByLabel('Word of today').fill(WORD);
  await page.getByRole('button', { name: 'Join' }).click();
  await page.locator('.before, .phone').first().waitFor();
}

/** A device that has joined and taken a role, by the screen alone. */
export async function joined(browser, desk, { role = '', person = '', ...more } = {}) {
  const page = await device(browser, more);
  await join_(page, desk);
  if (role) await takeRole(page, role, person);
  return page;
}

export async function takeRole(page, role, person = '') {
  // Once an alarm runs, roles are among the reports. Whoever joins then sees the quiet screen for a moment, until the
  // desk's first one is there: what goes from under the finger is looked for at its new place.
  const quiet = page.locator('.plain');
  const touched = (await quiet.count()) > 0 && (await quiet.click({ timeout: 2_000 }).then(() => true, () => false));
  if (!touched) {
    await page.getByRole('button', { name: 'Other report' }).click();
    await page.locator('.sheet .menu').getByRole('button', { name: 'Roles' }).click();
  }
  if (person) await page.locator('.who-list').getByRole('button', { name: person, exact: true }).click();
  const button = page.locator('.sheet .menu:not(.who-list) button', { hasText: role }).first();
  if (role === 'lead') {
    const lead = page.locator('.sheet .holdable');
    await lead.scrollIntoViewIfNeeded();
    const box = await lead.boundingBox();
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.mouse.down();
    await page.waitForTimeout(700);
    await page.mouse.up();
  } else await button.click();
  await page.locator('.sheet').waitFor({ state: 'detached' });
}
