import { type ArgumentMetadata, Injectable, type PipeTransform, StandardSchemaValidationPipe } from '@nestjs/common';
import { z } from 'zod';
import { BadInputError } from '../base/errors.js';
import { askedForText, isOfNothing } from '../report/phrases/asked-for.js';

/** What whoever sent a wrong input may do about it, where that is not the page on the programming interface. */
const REMEDIES = z.registry<{ readonly remedy: string }>();

/** For a parameter of a handler that a person filled in or followed to; programs are led to the page of the API. */
export function asked<T extends z.ZodType>(schema: T, remedy: string): { schema: T } {
  const own = schema.clone() as T;
  REMEDIES.add(own, { remedy });
  return { schema: own };
}

/** For the body of a form that a person filled in. */
export const filledIn = <T extends z.ZodType>(schema: T) => asked(schema, 'mend it and send the form again');

/** For a part of the address that names something: whether there is such a thing is found out when it is looked for. */
export const NAMED = { schema: z.string().min(1, 'a name').max(400, 'a name of at most 400 characters') };

/** Checks query, body and parts of the address with the schema that stands at the parameter, before the handler runs. */
@Injectable()
export class InputPipe implements PipeTransform {
  /** @throws BadInputError naming every field that is wrong. */
  transform(value: unknown, metadata: ArgumentMetadata): Promise<unknown> {
    const schema = metadata.schema as z.ZodType | undefined;
    const remedy = (schema && REMEDIES.get(schema)?.remedy) ?? 'the page /api describes every request';
    const pipe = new StandardSchemaValidationPipe({
      exceptionFactory: (issues) =>
        new BadInputError(
          (issues as readonly z.core.$ZodIssue[]).map((issue) => ({
            code: issue.code ?? 'invalid',
            field: [metadata.data ?? [], issue.path].flat().map(String).join('.') || 'request',
            ...(isOfNothing(issue) ? { found: 'nothing' } : {}),
            expected: askedForText(issue),
            remedy,
          })),
        ),
    });
    return pipe.transform(value, metadata);
  }
}
