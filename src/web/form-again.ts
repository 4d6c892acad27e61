import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import { ModuleRef, Reflector } from '@nestjs/core';
import type { Request, Response } from 'express';
import { catchError, type Observable } from 'rxjs';
import type { z } from 'zod';
import { AppError } from '../base/errors.js';
import type { FormAnswer } from './form-answer.js';
import { HTTP_STATUS, setRetryAfter } from './http-problem.js';

/** A form that came to nothing. */
export interface FailedForm<Typed> {
  /** What goes back into the form, so that nothing is typed twice. */
  readonly typed: Typed;
  /** Parts of the address. */
  readonly params: Readonly<Record<string, string>>;
  /** Why nothing was done. */
  readonly error: unknown;
}

/** How a route shows its form again with what is wrong. */
export interface FormAgain<Controller, Typed> {
  /** What of the body goes back into the form, a password never. When even that does not fit, the error is answered as any other. */
  readonly typed: z.ZodType<Typed>;
  /** @throws the error when the form is not to blame (`formErrors` does). */
  readonly show: (controller: Controller, sent: FailedForm<Typed>) => FormAnswer | Promise<FormAnswer>;
}

// biome-ignore lint/suspicious/noExplicitAny: which controller and what it typed is known where the decorator stands.
export const ShownAgain = Reflector.createDecorator<FormAgain<any, any>>();

/** Shows the form again when the input does not fit, or the act refuses: so handlers only act. */
@Injectable()
export class ShowFormAgain implements NestInterceptor {
  constructor(
    private readonly reflector: Reflector,
    private readonly modules: ModuleRef,
  ) {}

  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    const again = this.reflector.get(ShownAgain, context.getHandler());
    if (!again) return next.handle();
    const request = context.switchToHttp().getRequest<Request>();
    const response = context.switchToHttp().getResponse<Response>();
    return next.handle().pipe(
      catchError(async (error: unknown) => {
        const typed = again.typed.safeParse(request.body ?? {});
        if (!typed.success) throw error;
        const controller = this.modules.get(context.getClass(), { strict: false });
        const answer = await again.show(controller, { typed: typed.data, params: params(request), error });
        if (!(error instanceof AppError) || error.code !== 'LOCKED') return answer;
        setRetryAfter(response, error.facts);
        return { ...answer, status: HTTP_STATUS.LOCKED };
      }),
    );
  }
}

/** No route of ours names a part that repeats, so each is one text. */
const params = (request: Request): Record<string, string> => request.params as Record<string, string>;
