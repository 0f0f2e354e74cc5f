// A headless Chromium driven over --remote-debugging-pipe: one page, its console errors, its answers.
'use strict';
const {spawn} = require('child_process');
const fs = require('fs'), os = require('os'), path = require('path');

class Chromium {
  constructor(program) {
    this.profile = fs.mkdtempSync(path.join(os.tmpdir(), 'page-test-'));
    this.child = spawn(program, ['--headless=new', '--no-sandbox', '--disable-gpu', '--remote-debugging-pipe', '--no-first-run', '--disable-extensions',
      `--user-data-dir=${this.profile}`, '--hide-scrollbars', '--lang=en-US', '--autoplay-policy=no-user-gesture-required'],
      {stdio: ['ignore', 'ignore', 'ignore', 'pipe', 'pipe']});
    this.waiting = new Map();
    this.last = 0;
    this.errors = [];
    let rest = '';
    this.child.stdio[4].on('data', (data) => {
      const parts = (rest + data).split('\0');
      rest = parts.pop();
      for (const part of parts) this.take(JSON.parse(part));
    });
  }
  take(message) {
    if (message.id) {
      const {resolve, reject} = this.waiting.get(message.id);
      this.waiting.delete(message.id);
      if (message.error) reject(new Error(JSON.stringify(message.error))); else resolve(message.result);
    } else if (message.method === 'Runtime.exceptionThrown') {
      this.errors.push(message.params.exceptionDetails.exception?.description || message.params.exceptionDetails.text);
    } else if (message.method === 'Log.entryAdded' && message.params.entry.level === 'error') {
      this.errors.push(message.params.entry.text);
    }
  }
  send(method, params = {}, sessionId = this.session) {
    const id = ++this.last;
    this.child.stdio[3].write(JSON.stringify({id, method, params, sessionId}) + '\0');
    return new Promise((resolve, reject) => this.waiting.set(id, {resolve, reject}));
  }
  async start() {
    const {targetId} = await this.send('Target.createTarget', {url: 'about:blank'}, undefined);
    this.session = (await this.send('Target.attachToTarget', {targetId, flatten: true}, undefined)).sessionId;
    for (const part of ['Runtime', 'Log', 'Page', 'Accessibility']) await this.send(`${part}.enable`);
  }
  async go(address) {
    await this.send('Page.navigate', {url: 'about:blank'});
    await this.send('Page.navigate', {url: address});
  }
  async open(address) {
    await this.go(address);
    for (let i = 0; i < 200; i++) {
      if (await this.ask("document.readyState === 'complete' && !!(document.documentElement.dataset.ready || document.getElementById('message')?.textContent)")) return;
      await new Promise((done) => setTimeout(done, 25));
    }
    throw new Error('the page did not get ready');
  }
  // Value of an expression in the page.
  async ask(expression) {
    const {result, exceptionDetails} = await this.send('Runtime.evaluate', {expression, returnByValue: true, awaitPromise: true});
    if (exceptionDetails) throw new Error(`${expression}: ${exceptionDetails.exception?.description || exceptionDetails.text}`);
    return result.value;
  }
  async size(width, height) {
    await this.send('Emulation.setDeviceMetricsOverride', {width, height, deviceScaleFactor: 1, mobile: false});
  }
  async picture(file) {
    const {data} = await this.send('Page.captureScreenshot', {format: 'png', captureBeyondViewport: true});
    fs.writeFileSync(file, Buffer.from(data, 'base64'));
  }
  async close() {
    const ended = new Promise((done) => this.child.on('exit', done));
    this.child.kill();
    await ended;
    fs.rmSync(this.profile, {recursive: true, force: true, maxRetries: 5});
  }
}
module.exports = {Chromium};
