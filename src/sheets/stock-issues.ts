/** What zod says of a stock file, in words for whoever wrote the file. */
import type { z } from 'zod';
import type { Problem } from '../errors.js';

/** A problem each; an unknown key is one of its own. */
export function problemsOf({ issues }: z.ZodError): Problem[] {
  return issues.flatMap((issue) => {
    const path = issue.path.join('.');
    if (issue.code === 'unrecognized_keys') {
      return issue.keys.map((key) =>
        problem(joined(path, key), 'is no key of a stock file: look for a slip'),
      );
    }
    return [problem(path, inWords(issue))];
  });
}

function inWords(issue: z.core.$ZodIssue): string {
  switch (issue.code) {
    case 'invalid_type':
      return /received undefined$/.test(issue.message)
        ? `is missing: ${KINDS[issue.expected] ?? issue.expected} is needed`
        : `must be ${KINDS[issue.expected] ?? issue.expected}`;
    case 'invalid_value':
      return `must be one of ${issue.values.join(', ')}`;
    case 'too_small':
      if (issue.origin === 'string') return 'must not be empty';
      return `must be ${issue.inclusive === false ? 'more than' : 'at least'} ${issue.minimum}`;
    case 'too_big':
      return issue.origin === 'string'
        ? `must have at most ${issue.maximum} characters`
        : `must be at most ${issue.maximum}`;
    default:
      return issue.message;
  }
}

const KINDS: Readonly<Record<string, string>> = {
  number: 'a number (without quotes)',
  int: 'a whole number',
  string: 'a text (in quotes)',
  object: 'an object { … }',
  array: 'a list [ … ]',
};

function joined(path: string, key: string): string {
  return path === '' ? key : `${path}.${key}`;
}

function problem(column: string, text: string): Problem {
  return { line: null, column: column === '' ? null : column, problem: text };
}
