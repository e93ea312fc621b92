// Why a file is not looked into: said to the person, with the entry that is to blame.

export class Refusal extends Error {}

export function refuse(entry, reason) {
  throw new Refusal(entry ? `${entry}: ${reason}` : reason);
}
