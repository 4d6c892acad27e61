import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import type { Response } from 'express';
import { map, type Observable } from 'rxjs';

/** What sending a form leads to. */
export interface FormAnswer {
  /** Address where the result stands, or where things stand when nothing was done. */
  readonly to: string;
  /** The form again with what is wrong, when nothing was done. */
  readonly page?: string;
  /** Of the page; 400 when absent. */
  readonly status?: number;
}

/**
 * Leads on to where the result of a form stands, with 303 and never otherwise, so that a reload shows the result and sends
 * nothing. Where nothing was done it shows the page that says so.
 */
@Injectable()
export class AnswerForm implements NestInterceptor<FormAnswer | string, string> {
  intercept(context: ExecutionContext, next: CallHandler<FormAnswer | string>): Observable<string> {
    const response = context.switchToHttp().getResponse<Response>();
    return next.handle().pipe(
      map((answer) => {
        const { to, page, status = 400 } = typeof answer === 'string' ? { to: answer } : answer;
        response.type('html');
        if (page === undefined) response.status(303).location(to);
        else response.status(status);
        return page ?? '';
      }),
    );
  }
}
