import { RUN_RULE_NAMES } from '../../src/kinds/trend/capability-plan.js';
import { RUN_RULES } from '../../src/statistics/run-rules.js';

it('names to a capability plan the run rules that the chart knows, and no other', () => {
  expect(RUN_RULE_NAMES).toEqual(RUN_RULES);
});
