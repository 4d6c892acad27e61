/** What the help of one calculation says around its formula; its source is told in the description of its route too. */
export const CALCULATION_HELP = {
  purpose: (name: string, purpose: string) => `${name}: ${purpose}`,
  input: 'Input',
  output: 'Output (besides method, source, notes)',
  formula: 'Formula',
  source: (source: string) => `Source: ${source}`,
  example: (name: string, input: string) => `Example: echo '${input}' | npx lotwright calc ${name}`,
};
