/** `Powder of M1-101, by mass: R-1 62.5 %, R-2 37.5 %`. Shares below a tenth of a per cent are said to be that. */
export function powderText({
  of,
  shares,
}: {
  readonly of: string;
  readonly shares: readonly { readonly receipt: string; readonly fraction: number }[];
}): string {
  const said = shares.map(({ receipt, fraction }) => `${receipt} ${percent(fraction)}`);
  return `Powder of ${of}, by mass: ${said.join(', ')}`;
}

const percent = (fraction: number): string => (fraction < 0.001 ? 'below 0.1 %' : `${(100 * fraction).toFixed(1)} %`);
