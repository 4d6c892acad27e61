/** Words of the section "distribution" of the lot record. */
export const DISTRIBUTION = {
  implants: (balance: string) => `Implants when this record was issued: ${balance}.`,
  coupons: (balance: string) => `Coupons: ${balance}.`,
  unknown: 'This record was issued by a version that did not record to whom units went, and when.',
  caption: 'Where each implant was when this record was issued',
  serial: 'Implant',
  place: 'Where',
  since: 'Since',
  holder: 'With',
  document: 'By',
  build: 'its build, and what people decided',
  lotFile: 'the lot file',
};
