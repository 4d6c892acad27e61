import type { Family } from '../../kinds/family.js';

/** Words that have to stand on a label, with the clause that asks for them. Clauses are from memory: aids, no advice. */
export interface LabelWords {
  readonly words: string;
  readonly clause: string;
}

type Route = Family['route'];

const SINGLE_USE: LabelWords = {
  words: 'Single use. Do not use again, do not sterilise again.',
  clause: 'Regulation (EU) 2017/745 Annex I 23.2 (n)',
};
const MEDICAL_DEVICE: LabelWords = {
  words: 'Medical device',
  clause: 'Regulation (EU) 2017/745 Annex I 23.2 (q)',
};

const BY_ROUTE: Readonly<Record<Route, readonly LabelWords[]>> = {
  market: [],
  'patient-matched': [],
  'custom-made': [{ words: 'Custom-made device', clause: 'Regulation (EU) 2017/745 Annex I 23.2 (p)' }],
  investigational: [
    { words: 'Exclusively for clinical investigation', clause: 'Regulation (EU) 2017/745 Annex I 23.2 (q)' },
    {
      words: 'CAUTION—Investigational device. Limited by Federal (or United States) law to investigational use.',
      clause: '21 CFR 812.5 (a)',
    },
  ],
  'in-house': [
    {
      words: 'Made and used in this health institution. Not to be given to another legal entity.',
      clause: 'Regulation (EU) 2017/745 article 5 (5); own words',
    },
  ],
};

/** Words for the label of a unit, those of its route first. */
export function labelWords({ route, sterile }: Pick<Family, 'route' | 'sterile'>): LabelWords[] {
  const state: LabelWords =
    sterile === 'sterile'
      ? {
          words: 'To be sterilised: not sterile until the sterile label is on the pack.',
          clause: 'Regulation (EU) 2017/745 Annex I 23.2 (l), 23.3',
        }
      : { words: 'Not sterile', clause: 'Regulation (EU) 2017/745 Annex I 23.4 (l)' };
  return [...BY_ROUTE[route], MEDICAL_DEVICE, SINGLE_USE, state];
}

/** Whether units of this route carry a UDI (Regulation (EU) 2017/745 article 27; 21 CFR 801.30). */
export const carriesUdi = (route: Route): boolean => route === 'market' || route === 'patient-matched';
