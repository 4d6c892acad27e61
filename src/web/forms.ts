import { applyDecorators, type NestInterceptor, Post, type Type, UseInterceptors } from '@nestjs/common';
import { type FormAgain, ShowFormAgain, ShownAgain } from './form-again.js';
import { AnswerForm } from './form-answer.js';
import { FormOnce } from './form-once.js';

/**
 * A route that a page posts to. The handler acts, and gives the address where the result stands.
 * @param again how the page is shown when the input does not fit or the handler throws; without it that is an error.
 */
export const PagePost = <C, T>(path: string, again?: FormAgain<C, T>) =>
  posting(path, again, [AnswerForm, ShowFormAgain]);

/** The same for a form that acts once, whatever is reloaded, clicked twice or gone back to. */
export const FormPost = <C, T>(path: string, again?: FormAgain<C, T>) =>
  posting(path, again, [AnswerForm, FormOnce, ShowFormAgain]);

const posting = <C, T>(path: string, again: FormAgain<C, T> | undefined, around: readonly Type<NestInterceptor>[]) =>
  applyDecorators(Post(path), UseInterceptors(...around), ...(again ? [ShownAgain(again)] : []));
