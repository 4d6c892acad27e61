import { applyDecorators, Post, UseInterceptors } from '@nestjs/common';
import { type FormAgain, ShowFormAgain, ShownAgain } from './form-again.js';
import { AnswerForm } from './form-answer.js';
import { FormOnce } from './form-once.js';

/** A route that answers with the page of `again` when its input does not fit or its handler throws. */
export const OrAgain = <C, T>(again: FormAgain<C, T>) =>
  applyDecorators(ShownAgain(again), UseInterceptors(AnswerForm, ShowFormAgain));

/** A route that a page posts to. The handler acts, and gives the address where the result stands. */
export const PagePost = <C, T>(path: string, again?: FormAgain<C, T>) =>
  applyDecorators(Post(path), ...(again ? [OrAgain(again)] : [UseInterceptors(AnswerForm)]));

/** The same for a form that acts once, whatever is reloaded, clicked twice or gone back to. */
export const FormPost = <C, T>(path: string, again?: FormAgain<C, T>) =>
  applyDecorators(
    Post(path),
    ...(again ? [ShownAgain(again)] : []),
    UseInterceptors(AnswerForm, FormOnce, ShowFormAgain),
  );
