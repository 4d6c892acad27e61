// Sends folders and files in pieces, tells how far it is, and goes on where a connection was cut. Without this the form
// sends everything in one request.
const ROOT = '/api/v1/intake/staged';
const BATCH_FILES = 200;
const LONGEST_WAIT_S = 30;

const form = document.getElementById('bring-in');
const pieceBytes = Number(form.dataset.piece);
const words = form.querySelector('template').content;
const status = form.querySelector('[role="status"]');
const bar = form.querySelector('progress');
let isSending = false;

/** Shows a sentence of the page, with what stands in braces filled in. */
function say(name, fill = {}) {
  const filled = (text) => text.replaceAll(/\{(\w+)\}/g, (_, key) => fill[key] ?? '');
  const sentence = words.querySelector(`[data-say="${name}"]`).cloneNode(true);
  const walk = document.createTreeWalker(sentence, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) walk.currentNode.data = filled(walk.currentNode.data);
  for (const link of sentence.querySelectorAll('a')) link.href = filled(link.getAttribute('href'));
  status.replaceChildren(...sentence.childNodes);
  return status.textContent;
}

const textOf = (name, fill) =>
  words.querySelector(`[data-say="${name}"]`).textContent.replaceAll(/\{(\w+)\}/g, (_, key) => fill[key]);

/** The service refused what was sent, and says why. */
class Refused extends Error {
  constructor(answer, problem) {
    super(problem.detail ?? problem.title ?? String(answer.status));
    this.status = answer.status;
    this.problem = problem;
  }
}

const wait = (seconds) => new Promise((resolve) => setTimeout(resolve, seconds * 1000));

/** Asks until there is an answer: a connection that is gone comes back. */
async function ask(path, { body, method = 'POST' } = {}) {
  for (let seconds = 1; ; seconds = Math.min(LONGEST_WAIT_S, 2 * seconds)) {
    let answer;
    try {
      answer = await fetch(ROOT + path, { method, body, headers: { 'X-CSRF-Token': form.elements.csrf.value } });
    } catch {
      say('lost');
      await wait(seconds);
      // What was sent may have come: whoever sends in pieces asks how far it is.
      if (path.endsWith('/pieces')) return null;
      continue;
    }
    if (answer.ok) return answer.json();
    if (answer.status === 503 || answer.status === 429) {
      const n = Number(answer.headers.get('Retry-After')) || seconds;
      say('busy', { n });
      await wait(n);
      continue;
    }
    throw new Refused(answer, await answer.json().catch(() => ({})));
  }
}

/** How far it is, by what came in this visit. */
class Progress {
  constructor(total) {
    this.total = total;
    this.done = 0;
    this.skipped = 0;
    this.begun = performance.now();
  }

  add(bytes, isHere = false) {
    this.done += bytes;
    if (isHere) this.skipped += bytes;
    const came = this.done - this.skipped;
    bar.value = this.total === 0 ? 100 : Math.floor((100 * this.done) / this.total);
    const seconds = came === 0 ? null : ((performance.now() - this.begun) * (this.total - this.done)) / came / 1000;
    const [unit, n] = seconds > 90 ? ['minutes', Math.ceil(seconds / 60)] : ['seconds', Math.ceil(seconds ?? 0)];
    const left = seconds === null ? '' : textOf('left', { left: textOf(unit, { n }) });
    form.querySelector('.left').textContent = `${bar.value} % ${left}`;
  }
}

async function sendWhole(folder, files, progress) {
  const body = new FormData();
  for (const { path, file } of files) body.append('files', file, path);
  await ask(`/${folder}/files`, { body });
  say('sending');
  for (const { file } of files) progress.add(file.size);
}

async function sendInPieces(folder, { path, file }, progress) {
  const stamp = String(file.lastModified);
  const received = async () => {
    const { inPieces } = await ask(`/${folder}`, { method: 'GET' });
    return inPieces.find((one) => one.file === path && one.of === file.size && one.stamp === stamp)?.received ?? 0;
  };
  let from = await received();
  progress.add(from, true);
  while (from < file.size) {
    const body = new FormData();
    for (const [name, value] of Object.entries({ file: path, of: file.size, from, stamp })) body.append(name, value);
    body.append('piece', file.slice(from, from + pieceBytes), 'piece');
    const answer = await ask(`/${folder}/pieces`, { body }).catch((error) => {
      if (error.problem?.received === undefined) throw error;
      return error.problem;
    });
    const now = answer?.received ?? (await received());
    say('sending');
    progress.add(now - from);
    from = now;
  }
}

async function send(files) {
  if (isSending) return;
  form.querySelector('.sending').hidden = false;
  if (files.length === 0) {
    say('none');
    return;
  }
  isSending = true;
  form.querySelector('button').disabled = true;
  say('sending');
  let folder = form.dataset.folder;
  try {
    folder ??= (await ask('')).folder;
    form.dataset.folder = folder;
    const progress = new Progress(files.reduce((sum, { file }) => sum + file.size, 0));
    let batch = [];
    let bytes = 0;
    for (const one of files) {
      if (one.file.size > pieceBytes) {
        await sendInPieces(folder, one, progress);
        continue;
      }
      if (batch.length === BATCH_FILES || bytes + one.file.size > pieceBytes) {
        await sendWhole(folder, batch, progress);
        [batch, bytes] = [[], 0];
      }
      batch.push(one);
      bytes += one.file.size;
    }
    if (batch.length > 0) await sendWhole(folder, batch, progress);
    say('sent');
    check(folder);
  } catch (error) {
    stopped(error, folder);
  }
}

function stopped(error, folder) {
  isSending = false;
  form.querySelector('button').disabled = false;
  if (error.status === 401) {
    const here = folder === undefined ? '/intake' : `/intake/staged/${folder}`;
    say('session', { next: encodeURIComponent(here) });
    return;
  }
  const list = document.createElement('ul');
  const lines = error.problem?.problems ?? [];
  for (const { file, found, expected, remedy } of lines.length > 0 ? lines : [{ remedy: error.message }]) {
    const line = document.createElement('li');
    line.textContent = [file, found, expected, remedy].filter(Boolean).join(' · ');
    list.append(line);
  }
  say('wrong');
  status.append(list);
}

/** Leads to the page that tells what was found. */
function check(folder) {
  const act = document.createElement('form');
  act.method = 'post';
  act.action = `/intake/staged/${folder}/check`;
  const token = document.createElement('input');
  Object.assign(token, { type: 'hidden', name: 'csrf', value: form.elements.csrf.value });
  act.append(token);
  document.body.append(act);
  act.submit();
}

const chosen = () =>
  ['folder', 'files'].flatMap((name) =>
    [...form.elements[name].files].map((file) => ({ file, path: file.webkitRelativePath || file.name })),
  );

/** Files of what was dropped, folders with all that is in them. */
async function dropped(entry, path = entry.name) {
  if (entry.isFile) return [{ path, file: await new Promise((resolve, reject) => entry.file(resolve, reject)) }];
  const reader = entry.createReader();
  const files = [];
  for (;;) {
    const inside = await new Promise((resolve, reject) => reader.readEntries(resolve, reject));
    if (inside.length === 0) return files;
    for (const one of inside) files.push(...(await dropped(one, `${path}/${one.name}`)));
  }
}

form.addEventListener('submit', (event) => {
  event.preventDefault();
  send(chosen());
});

const place = form.querySelector('.drop');
place.hidden = false;
form.addEventListener('dragover', (event) => event.preventDefault());
form.addEventListener('drop', async (event) => {
  event.preventDefault();
  const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry()).filter((entry) => entry !== null);
  const files = [];
  for (const entry of entries) files.push(...(await dropped(entry)));
  send(files);
});
