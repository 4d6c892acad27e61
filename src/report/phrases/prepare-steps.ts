import { counted } from './counted.js';
import { powderOperationText } from './trade-codes.js';

/** What the steps say in which a lot is planned for a case. */
export const PREPARE_STEPS = {
  cases: 'Plan a lot for a case',
  step: (n: number, title: string, code: string) => `${n} of 3: ${title}, case ${code}`,
  titles: { parts: 'What is built', stock: 'Powder and gas', times: 'Who and when' },
  next: { parts: 'Next: powder and gas', stock: 'Next: who and when', times: 'Check before you store' },
  state: (operation: Parameters<typeof powderOperationText>[0], hopper: string | undefined) =>
    hopper === undefined ? powderOperationText(operation) : `${powderOperationText(operation)}, in ${hopper}`,
  gas: (material: string, lot: string) => `${material}, lot ${lot}`,
  values: (count: number) => counted(count, 'value'),
  ofStep: (step: string, field: string) => `${step}, ${field}`,
  lies: (title: string, says: string) => `${title}: ${says}.`,
  notYet: 'This is not whole yet',
  fields: {
    'builds[0].powder[0].state': 'Powder',
    'builds[0].powder[0].chargedG': 'Grams to be filled in',
    'builds[0].gas[0].receipt': 'Gas',
    'opened.by': 'Opened by',
    'builds[0].operator': 'Operator',
    'builds[0].closedAt': 'Chamber to be closed',
    'builds[0].openedAt': 'Chamber to be opened',
  } as Readonly<Record<string, string>>,
  noGas: 'No gas of its own',
};
