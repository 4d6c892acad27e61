import { StreamableFile } from '@nestjs/common';
import { attachment } from '../web/disposition.js';
import type { IssuedAnswer } from './answer-issuer.js';

/** A sealed answer as a download. */
export const answerFile = ({ pdf, name }: IssuedAnswer): StreamableFile =>
  new StreamableFile(pdf, { type: 'application/pdf', disposition: attachment(name), length: pdf.length });
