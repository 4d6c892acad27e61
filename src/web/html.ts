/** Header of every page. */
export const HTML = ['Content-Type', 'text/html; charset=utf-8'] as const;
