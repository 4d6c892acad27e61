/** Value of the header Content-Disposition for a file that is saved. */
export const attachment = (fileName: string): string => disposition('attachment', fileName);

/** The same for a file that the browser shows. */
export const inline = (fileName: string): string => disposition('inline', fileName);

/** File name as RFC 6266 says: plain letters for old programs, and the name itself as RFC 8187 writes it. */
function disposition(type: string, fileName: string): string {
  const name = fileName.split('/').at(-1)!;
  const plain = name.replaceAll(/[^A-Za-z0-9._-]/g, '_');
  const exact = encodeURIComponent(name).replaceAll(/['()*]/g, (sign) => `%${sign.charCodeAt(0).toString(16)}`);
  return `${type}; filename="${plain}"; filename*=UTF-8''${exact}`;
}
