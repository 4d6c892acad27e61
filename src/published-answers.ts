import { z } from 'zod';
import { ResultsAnswer } from './lots/results-answer.js';
import { ImpactAnswer } from './trace/impact-answer.js';
import { TraceAnswer } from './trace/trace-answer.js';
import { TrendAnswer } from './trend/trend-answer.js';

/** Answers that other programs read, by the name of the command that gives them with `--json`. */
const ANSWERS = {
  results: { of: ResultsAnswer, title: 'Every value of a lot' },
  trend: { of: TrendAnswer, title: 'A characteristic of a family over its builds' },
  trace: { of: TraceAnswer, title: 'Where something came from and where it went' },
  impact: { of: ImpactAnswer, title: 'What it means that something was found off' },
} as const;
export type PublishedAnswer = keyof typeof ANSWERS;

/** The schema of each as JSON Schema (draft 2020-12), as `docs/schemas/answers` has them. */
export const publishedAnswers = (): [PublishedAnswer, Record<string, unknown>][] =>
  Object.entries(ANSWERS).map(([name, { of, title }]) => {
    const schema = z.toJSONSchema(of, { io: 'output', unrepresentable: 'any' }) as Record<string, unknown>;
    return [name as PublishedAnswer, { $id: `urn:lotwright:answer:${name}:1`, title, ...schema }];
  });
