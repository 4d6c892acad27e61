import type { ComputedClaim } from '../../design-history/claims.js';
import type { DesignIndex } from '../../design-history/design-index.js';
import type { BackRow } from '../../design-history/trace-back.js';
import type { TraceRow } from '../../design-history/trace-matrix.js';
import type { DesignTemplate } from '../../report/design-template.js';
import type { LotFigure } from '../../report/lot-figure.js';
import type { GapAnswered } from '../design-answer.js';
import type { DesignContent } from './content.js';
import type { DesignEnclosure } from './enclosure.js';

/** What is drawn. */
export interface DesignPaperView {
  readonly content: DesignContent;
  readonly design: DesignIndex;
  readonly gaps: readonly GapAnswered[];
  /** From need to test, from test to need, and both as pictures: the pages are laid out more than once, this once. */
  readonly matrix: readonly TraceRow[];
  readonly back: readonly BackRow[];
  readonly figures: readonly LotFigure[];
  /** By the code of the study. */
  readonly claims: ReadonlyMap<string, ComputedClaim>;
  readonly enclosure: DesignEnclosure;
  readonly template: DesignTemplate;
}
