import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';

const STATES = 10_000;
const RECEIPTS = 40;
const RUNS = 9;

/** Shares, what was never used, and reuse cycles of the last of ten thousand states, each of which went into two others. */
export async function run() {
  const { powderSharesOfState } = await import('../../dist/assessment/powder-shares.js');
  const { virginFractions } = await import('../../dist/assessment/virgin-powder.js');
  const { reuseCycles } = await import('../../dist/assessment/materials.js');
  const facts = powder();
  const figure = medianOf(() => {
    powderSharesOfState(facts, `S-${STATES - 1}`);
    virginFractions(facts);
    reuseCycles(facts);
  });
  return [
    { name: 'shares, virgin part and reuse of 10 000 powder states', figure },
    { name: 'what is on stock, of 5 000 receipts', figure: await stockMs() },
  ];
}

const ON_STOCK = 5000;

/** What the page of materials reads: its first page of receipts, powder and what wears out. */
async function stockMs() {
  const { DataFolder } = await import('../../dist/store/data-folder.js');
  const { Store } = await import('../../dist/store/store.js');
  const { receiptStock, powderOnStock, consumablesInUse } = await import('../../dist/desk/stock-view.js');
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-'));
  const store = await Store.open(DataFolder.open(path.join(folder, 'data')));
  await store.change('bench', async (change) => {
    for (let at = 0; at < ON_STOCK; at++) {
      const key = `R-${at}`;
      await change.entries.add({ kind: 'receipt', key, name: key, body: receiptOf(key, at), links: [] });
    }
    for (let at = 0; at < 100; at++) {
      const [key, receipt] = [`S-${at}`, `R-${ON_STOCK - 1 - at}`];
      const body = { kind: 'powder-state', format: 1, state: key, operation: 'fill', madeAt: RECEIVED, madeBy: 'P-OP' };
      const links = [{ name: 'contains receipt', to: { kind: 'receipt', key: receipt }, massG: '500' }];
      const inputs = [{ receipt, massG: '500' }];
      await change.entries.add({ kind: 'powder-state', key, name: key, body: { ...body, inputs }, links });
    }
  });
  const times = [];
  for (let run = 0; run < RUNS; run++) {
    const from = performance.now();
    await receiptStock(store.read, '2031-03-01', 'all', 1);
    await powderOnStock(store.read, 1);
    await consumablesInUse(store.read, 1);
    times.push(performance.now() - from);
  }
  await store.close();
  fs.rmSync(folder, { recursive: true });
  return times.sort((a, b) => a - b)[Math.floor(RUNS / 2)];
}

const RECEIVED = '2031-01-12T10:00:00+01:00';

function receiptOf(receipt, at) {
  const certificate = { number: `C-${at}`, type: '3.1', issued: '2031-01-02', transcribedBy: 'P-OP' };
  const lines = ['Mg', 'Zn', 'Ca', 'Fe', 'Ni', 'Cu', 'D10', 'D50', 'D90'].map((property) => ({
    ...{ property, value: '0.46', ucum: '%' },
  }));
  return {
    ...{ kind: 'receipt', format: 1, receipt, supplier: 'S1', material: 'mg-powder', category: 'powder' },
    ...{ supplierLot: `PL-${at}`, heats: [`H-${at}`], massG: '20000', receivedAt: RECEIVED, status: 'quarantine' },
    certificate: { ...certificate, lines },
  };
}

function powder() {
  const receipts = new Map();
  for (let at = 0; at < RECEIPTS; at++) receipts.set(`R-${at}`, { body: { state: 'virgin' } });
  const powderStates = new Map();
  for (let at = 0; at < STATES; at++) {
    const inputs = [{ receipt: `R-${at % RECEIPTS}`, massG: '10' }];
    for (const back of [1, 2]) if (at >= back) inputs.push({ state: `S-${at - back}`, massG: '100' });
    powderStates.set(`S-${at}`, { body: { state: `S-${at}`, operation: at % 5 === 0 ? 'recover' : 'blend', inputs } });
  }
  return { powderStates, receipts };
}

function medianOf(work) {
  const times = Array.from({ length: RUNS }, () => {
    const from = performance.now();
    work();
    return performance.now() - from;
  });
  return times.sort((a, b) => a - b)[Math.floor(RUNS / 2)];
}
