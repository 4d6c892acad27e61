import { findGaps, gapId, openGaps } from '../../src/design-history/find-gaps.js';
import { GAP_RULES } from '../../src/design-history/gaps/catalogue.js';
import { GAP_CODES } from '../../src/design-history/gaps/gap-code.js';
import { GAP_PHRASES } from '../../src/report/phrases/gaps/catalogue.js';
import { draftOf, factsOf, wholeHistory } from '../support/whole-history.js';
import { PLANTED } from './planted-gaps.js';

const told = (gaps: ReturnType<typeof findGaps>) => gaps.map(({ rule }) => rule);

it('finds nothing in a whole history', () => {
  expect(findGaps(factsOf(wholeHistory()))).toEqual([]);
});

it.each(GAP_CODES)('finds what is planted for %s, and nothing else', (code) => {
  const history = wholeHistory();
  PLANTED[code](history);
  const found = findGaps(factsOf(history));
  expect(told(found)).toEqual([code]);
  const words = GAP_PHRASES[code].says(found[0]!.facts);
  expect(words).not.toMatch(/undefined|null|^$/);
  expect(found[0]!.owners).toEqual(expect.any(Array));
});

it('has its rules in the order in which gaps are told', () => {
  expect(GAP_RULES.map(({ code }) => code)).toEqual(GAP_CODES);
});

describe('an answer', () => {
  const answered = (over: Record<string, unknown> = {}, approvedBy: string | null = 'P-QE') => {
    const history = wholeHistory();
    PLANTED['hazard-without-control'](history);
    const subjects = [{ kind: 'hazard', key: 'HZ-2' }];
    const gap = gapId('hazard-without-control', subjects, null);
    const answer = draftOf({
      kind: 'gap-answer',
      format: 1,
      gap,
      rule: 'hazard-without-control',
      subjects,
      justification: 'acceptable as it is (invented)',
      until: '2031-10-01',
      given: { by: 'P-QE', at: '2031-02-01T09:00:00+01:00' },
      ...over,
    });
    history.drafts.set('answer', { ...answer, approvedBy });
    return findGaps(factsOf(history));
  };

  it('ends a gap once it is approved, until its day', () => {
    const [gap] = answered();
    expect(gap!.state).toBe('answered');
    expect(openGaps(answered())).toEqual([]);
    expect(answered({}, null)[0]!.state).toBe('answer not approved');
    expect(answered({ until: '2031-02-28' })[0]!.state).toBe('answer lapsed');
    expect(answered({ until: '2031-03-01' })[0]!.state).toBe('answered');
    expect(openGaps(answered({ until: '2031-02-28' }))).toHaveLength(1);
  });

  it('on another gap ends none', () => {
    expect(answered({ gap: 'd4'.repeat(32) })[0]!.state).toBe('open');
  });
});

describe('properties', () => {
  const spoilt = () => {
    const history = wholeHistory();
    for (const code of ['hazard-without-control', 'action-late', 'study-superseded', 'control-not-verified'] as const) {
      PLANTED[code](history);
    }
    return history;
  };

  it('the order of intake changes nothing', () => {
    const facts = factsOf(spoilt());
    const turned = { ...facts, revisions: [...facts.revisions].reverse() };
    expect(findGaps(turned)).toEqual(findGaps(facts));
    expect(findGaps(facts).length).toBeGreaterThan(3);
  });

  it('what is withdrawn for cause stands for nothing', () => {
    const history = wholeHistory();
    history.drafts.get('design-study')!.withdrawn = true;
    expect(told(findGaps(factsOf(history)))).toEqual([
      'need-not-validated',
      'input-not-verified',
      'tie-superseded',
      'tie-superseded',
      'worst-case-without-study',
      'control-not-verified',
    ]);
  });

  it('documents of another need hide no gap of this one', () => {
    const before = told(findGaps(factsOf(spoilt())));
    const history = spoilt();
    PLANTED['output-unasked'](history);
    expect(told(findGaps(factsOf(history)))).toEqual(expect.arrayContaining(before));
  });
});
