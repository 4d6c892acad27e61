/** Words that papers on units have in common. */
export const PAPER = {
  demo: ' (fictional demo data)',
  subject: (lot: string, family: string) => `Lot ${lot} of family ${family}`,
  /** Who makes the units, on labels, sheets and statements. */
  maker: ({ name, address }: { readonly name: string; readonly address: string }) => `${name}, ${address}`,
  prescriber: ({ name, institution }: { readonly name: string; readonly institution: string }) =>
    `${name}, ${institution}`,
};
