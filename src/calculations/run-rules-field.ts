import { z } from 'zod';
import { RUN_RULE_MEANING, RUN_RULES } from '../statistics/run-rules.js';

/** The optional list of run rules that a chart is to apply beside its limits. */
export const runRules = z
  .array(z.enum(RUN_RULES))
  .describe(`run rules to apply beside the limits (none by default): ${RUN_RULES.join(', ')}`)
  .optional();

/** All rules with their meaning, for formula texts. */
export const runRuleText = RUN_RULES.map((rule) => `${rule}: ${RUN_RULE_MEANING[rule]}`).join('\n');
