/** Words of the page of materials and equipment. */
export const STOCK = {
  amount: (value: string, measure: 'g' | 'pieces') => `${value} ${measure}`,
  notStated: 'not stated',
  uses: (uses: number, most: number | undefined) => (most === undefined ? String(uses) : `${uses} of ${most}`),
  shown: { all: 'all', quarantine: 'in quarantine', expired: 'expired', expiring: 'expiring within 30 days' },
} as const;
