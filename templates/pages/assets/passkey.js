// Asks the browser for passkeys before a form is sent (Web Authentication level 2). What a passkey signs is SHA-256 over
// the number of the form and all that the form says: src/web/passkey-ask.ts does the same. It works without: then the
// service says what is missing.
'use strict';

const MARKS = ['csrf', 'form-number', 'passkey', 'passkey-number'];

const textOf = (buffer) =>
  btoa(String.fromCharCode(...new Uint8Array(buffer)))
    .replaceAll('+', '-')
    .replaceAll('/', '_')
    .replaceAll('=', '');

const bytesOf = (text) => Uint8Array.from(atob(text.replaceAll('-', '+').replaceAll('_', '/')), (one) => one.charCodeAt(0));

function formText(form) {
  const fields = new Map();
  for (const [name, value] of new FormData(form)) {
    if (typeof value !== 'string' || MARKS.includes(name)) continue;
    fields.set(name, [...(fields.get(name) ?? []), value.replace(/\r\n?/g, '\n')]);
  }
  const said = [...fields.keys()].sort().flatMap((name) => fields.get(name).map((value) => [name, value]));
  return JSON.stringify([new URL(form.action).pathname, said]);
}

async function challengeFor(form, number) {
  const text = new TextEncoder().encode(formText(form));
  const bytes = bytesOf(number);
  const all = new Uint8Array(bytes.length + text.length);
  all.set(bytes);
  all.set(text, bytes.length);
  return crypto.subtle.digest('SHA-256', all);
}

const named = (ids) => ids.map((id) => ({ type: 'public-key', id: bytesOf(id) }));

async function used(challenge, ids) {
  const { id, response } = await navigator.credentials.get({
    publicKey: { challenge, allowCredentials: named(ids), userVerification: 'required' },
  });
  const { clientDataJSON, authenticatorData, signature, userHandle } = response;
  return {
    id,
    clientDataJSON: textOf(clientDataJSON),
    authenticatorData: textOf(authenticatorData),
    signature: textOf(signature),
    userHandle: userHandle && textOf(userHandle),
  };
}

async function made(challenge, { account, person, name }, ids) {
  const { id, response } = await navigator.credentials.create({
    publicKey: {
      challenge,
      rp: { name: 'Lotwright' },
      user: { id: bytesOf(account), name: person, displayName: name },
      pubKeyCredParams: [-7, -8, -257].map((alg) => ({ type: 'public-key', alg })),
      excludeCredentials: named(ids),
      authenticatorSelection: { userVerification: 'required' },
      attestation: 'none',
    },
  });
  const { clientDataJSON, attestationObject } = response;
  return { id, clientDataJSON: textOf(clientDataJSON), attestationObject: textOf(attestationObject) };
}

async function given(form, mark) {
  const challenge = await challengeFor(form, mark.value);
  const own = mark.dataset.own.split(' ').filter(Boolean);
  const second = form.elements.namedItem('second')?.value.trim();
  const others = JSON.parse(mark.dataset.others)[second] ?? [];
  const results = [];
  for (const ids of [own, others]) if (ids.length > 0) results.push(await used(challenge, ids));
  if (form.dataset.passkey === 'make') results.push(await made(challenge, form.dataset, own));
  return results;
}

function put(form, result) {
  const field = document.createElement('input');
  field.type = 'hidden';
  field.name = 'passkey';
  field.value = JSON.stringify(result);
  form.append(field);
}

for (const form of document.forms) {
  const mark = form.elements.namedItem('passkey-number');
  if (!mark || !(form.dataset.passkey || form.querySelector('input[type=password]'))) continue;
  const says = form.querySelector('[data-passkey-says]');
  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    says.hidden = true;
    try {
      for (const result of await given(form, mark)) put(form, result);
      form.submit();
    } catch (error) {
      says.textContent = `${says.dataset.passkeySays} ${error.message}`;
      says.hidden = false;
    }
  });
}
