import type { GapState } from '../../../design-history/find-gaps.js';
import type { GapCode } from '../../../design-history/gaps/gap-code.js';
import { DESIGN_FLOW_GAPS } from './design-flow.js';
import type { GapPhrase } from './gap-phrase.js';
import { RISK_AND_REVIEW_GAPS } from './risks-and-reviews.js';
import { STUDY_GAPS } from './studies.js';

/** Words on every rule of design histories. */
export const GAP_PHRASES: Readonly<Record<GapCode, GapPhrase>> = {
  ...DESIGN_FLOW_GAPS,
  ...STUDY_GAPS,
  ...RISK_AND_REVIEW_GAPS,
};

/** How a gap stands, in words. */
export const GAP_STATE_WORDS: Readonly<Record<GapState, string>> = {
  open: 'open',
  'answer lapsed': 'open: the day has passed until which its answer held',
  'answer not approved': 'open: nobody has approved its answer',
  answered: 'answered',
};
