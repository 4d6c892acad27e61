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
  return [{ name: 'shares, virgin part and reuse of 10 000 powder states', figure }];
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
