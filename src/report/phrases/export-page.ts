/** Words of the page that takes in the file of an instrument. */
export const EXPORT_PAGE = {
  title: (lot: string) => `Results from an instrument, lot ${lot}`,
  lead: 'The file as the instrument wrote it is the evidence. A profile says how it is read; you see what would be stored before anything is.',
  labels: { profile: 'Profile of the instrument', files: 'The file: text, or a workbook (XLSX)' },
  profileOf: (code: string, title: string) => `${code}: ${title}`,
  send: 'Read and check',
  noProfile: 'No instrument profile is on file. Enter one first: it names the columns, units and times of the export.',
  enter: 'Enter a profile',
  link: 'Bring in the file of an instrument',
};
