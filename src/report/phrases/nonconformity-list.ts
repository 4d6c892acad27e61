/** Words of the page of all nonconformities. */
export const NONCONFORMITY_LIST = {
  noSort: 'no sort named',
  becomes: (units: readonly string[], as: string, clause: string | undefined) =>
    `${units.join(', ')}: ${as}${clause === undefined ? '' : ` by ${clause}`}`,
};
