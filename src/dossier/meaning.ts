/** What a signature means, in words that are printed beside the name (21 CFR 11.50). */
export const MEANINGS = ['performed', 'checked', 'reviewed', 'approved', 'decided', 'released', 'rejected'] as const;
