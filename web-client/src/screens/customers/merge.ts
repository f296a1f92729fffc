// Two people change the same thing: what was left alone here follows the other, what was
// touched by both is named.
// Belongs here: putting two changes together. Does not belong here: asking for either.

/** A field that both changed, and what the other one made of it. */
export interface Both {
  field: string;
  theirs: string;
}

/**
 * Takes over into `form` what someone else changed since `before`, except where something
 * else was typed here. Returns the fields that both changed, in the words given.
 */
export function mergeInto<T extends object>(form: T, before: T, theirs: T, words: Partial<Record<keyof T, string>>): Both[] {
  const both: Both[] = [];
  for (const key of Object.keys(theirs) as (keyof T)[]) {
    if (form[key] === before[key]) form[key] = theirs[key];
    else if (theirs[key] !== before[key] && theirs[key] !== form[key]) {
      both.push({ field: words[key] ?? String(key), theirs: typeof theirs[key] === 'boolean' ? (theirs[key] ? 'yes' : 'no') : String(theirs[key]) });
    }
  }
  return both;
}
