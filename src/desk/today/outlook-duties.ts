import type { LotLine } from '../../lots/lot-line.js';
import { lotAddress } from '../../report/page-addresses.js';
import { capital } from '../../report/phrases/capital.js';
import { earliestText, peopleText } from '../../report/phrases/outlook.js';
import { TODAY } from '../../report/phrases/today.js';
import type { LotOutlooks } from '../../signing/lot-outlook.js';
import type { Duty } from './duty.js';

/** Lots told: those that are needed soonest. */
const MOST = 20;

/** When each open lot can be released at the earliest, and where nobody is left who could. */
export async function outlookDuties(outlooks: LotOutlooks, open: readonly LotLine[]): Promise<Duty[]> {
  const told = open.slice(0, MOST);
  const found = await outlooks.of(told.map(({ lot }) => lot));
  return told.flatMap((line) => {
    const outlook = found.get(line.lot);
    if (outlook === undefined) return [];
    const { earliest, people } = outlook;
    const of = { text: line.lot, href: lotAddress(line.lot) };
    const common = { topic: 'make' as const, of, units: [], by: line.neededBy };
    return [
      ...(earliest.longest === null
        ? []
        : [
            {
              ...common,
              what: capital(earliestText(earliest, line.neededBy)),
              overdue: false,
              button: { text: TODAY.seeTests, href: lotAddress(line.lot, 'tests') },
            },
          ]),
      ...peopleText(people).map((says) => ({
        ...common,
        what: capital(says),
        overdue: false,
        button: { text: TODAY.seePeople, href: '/people' },
      })),
    ];
  });
}
