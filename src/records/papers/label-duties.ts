import type { Family } from '../../kinds/family.js';
import type { LabelDuty } from '../../report/phrases/label-words.js';

type Route = Family['route'];

const BY_ROUTE: Readonly<Record<Route, readonly LabelDuty[]>> = {
  market: [],
  'patient-matched': [],
  'custom-made': ['custom-made'],
  investigational: ['investigational', 'investigational by federal law'],
  'in-house': ['in-house'],
};

/** What the label of a unit has to say, what its route asks for first. */
export function labelDuties({ route, sterile }: Pick<Family, 'route' | 'sterile'>): LabelDuty[] {
  const state = sterile === 'sterile' ? 'to be sterilised' : 'not sterile';
  return [...BY_ROUTE[route], 'medical device', 'single use', state];
}

/** Whether units of this route carry a UDI (Regulation (EU) 2017/745 article 27; 21 CFR 801.30). */
export const carriesUdi = (route: Route): boolean => route === 'market' || route === 'patient-matched';
