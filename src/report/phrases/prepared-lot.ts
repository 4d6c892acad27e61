/** What stands in a lot file that was prepared, beside the facts. Comments begin with a blank, as YAML sets no blank itself. */
export const PREPARED_LOT = {
  head: (code: string, iteration: number) =>
    ` Prepared for case ${code}, design iteration ${iteration}. Fill in what is empty.\n Results stand in results/, a sheet for coupons and one for implants; rows without a value wait.`,
  openedBy: ' who opens the lot',
  state: ' planned until it was built, with the times of the plan; take the line out afterwards',
  operator: ' who runs the machine',
  closedAt: ' chamber closed, such as 2031-03-04T08:00:00+01:00',
  openedAt: ' chamber opened',
  powder: ' powder state that goes in',
  charged: ' grams',
  steps: ' Steps after the build. Take the sign # away from each line once it is done, with time and person.',
  fates: ' Coupons that tests use up, and whatever else is scrapped or retained. As with the steps.',
  rationale: (serial: string, zoneClass: string) =>
    `built beside ${serial} in the same closure, by the same recipe, in a zone of class ${zoneClass}`,
};
