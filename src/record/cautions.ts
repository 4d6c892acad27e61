/** Cautions in our own words. They stand on page 1 of every record and at the foot of every page of the service. */
export const CAUTIONS = {
  clinical:
    'A record keeping and calculation aid. It does not decide clinical use: use in patients needs qualified clinical, quality and regulatory review under the law of the place.',
  bench:
    'Bench degradation results describe the test conditions. Predicting degradation or strength in the body from them is not established.',
  statistics:
    'Indices rest on the stated data, order and distribution. Small samples give wide bounds; a number without its bound says little.',
  coupons: 'Coupons speak for implants only as far as the cited rationale or study shows.',
  powder:
    'Magnesium and zinc powder, fines, chips, filter dust and condensate are combustible and give hydrogen with moisture: no water, no carbon dioxide, no halon; never mix alloys or iron oxide. Follow the local fire code, the authority having jurisdiction and a licensed specialist.',
  cell: 'Argon can suffocate; lasers can blind and burn. Trained people only, under local rules.',
  clauses: 'Clause references are aids and no legal advice; check the edition in force.',
  unaltered:
    'Unaltered is not the same as true, complete or released: verification shows only that the file is as issued.',
  undecided: '"Cannot be decided" is not a weaker "conforms".',
  live: 'This program watches nothing live: it is no alarm, no interlock and no gas monitor.',
  copies: 'Printed copies are uncontrolled. Calculation pages are not records.',
} as const;
