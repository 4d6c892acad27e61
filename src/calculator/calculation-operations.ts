import type { AnyCalculation } from '../calculations/calculation.js';
import { inputSchema } from '../calculations/calculation-fields.js';
import { CALCULATIONS } from '../calculations/catalogue.js';
import { CALCULATION_HELP } from '../report/phrases/commands/calculator.js';
import type { OperationOfOne } from '../web/operation.js';

/** The calculation that the page on the programming interface asks for as its example. */
const SHOWN = 'mass-loss-rate';

/** Each calculation as an operation of the API of its own. */
export const calculationOperations = (): OperationOfOne[] =>
  CALCULATIONS.map((calculation) => ({
    value: calculation.name,
    summary: calculation.purpose,
    description: CALCULATION_HELP.source(calculation.source),
    body: inputSchema(calculation),
    example: calculation.example.input,
    answer: answerSchema(calculation),
    shown: calculation.name === SHOWN,
  }));

/** Its own fields, some absent under conditions that the notes state, and the common ones. */
function answerSchema({ output }: AnyCalculation): object {
  const own = Object.entries(output).map(([name, description]) => [name, { description }]);
  return {
    type: 'object',
    properties: {
      ...Object.fromEntries(own),
      method: { type: 'string' },
      source: { type: 'string' },
      notes: { type: 'array', items: { type: 'string' } },
    },
    required: ['method', 'source', 'notes'],
  };
}
