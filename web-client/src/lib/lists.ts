// Lists as the API gives them, bare or under a name.
// Belongs here: fetching whole lists. Does not belong here: what is shown of them.
import { get } from './api';
import type { CircuitRow, CustomerRow, MailRow, MeterHeld, Person, SessionRow } from './wire';

async function list<T>(path: string, name: string): Promise<T[]> {
  const answer = await get<T[] | Record<string, T[]>>(path);
  return Array.isArray(answer) ? answer : (answer[name] ?? []);
}

export const peopleList = (): Promise<Person[]> => list('/api/people', 'people');
export const customersList = (): Promise<CustomerRow[]> => list('/api/customers', 'customers');
export const circuitsList = (): Promise<CircuitRow[]> => list('/api/circuits', 'circuits');
export const metersList = (): Promise<MeterHeld[]> => list('/api/meters', 'meters');
export const sessionsList = (): Promise<SessionRow[]> => list('/api/sessions', 'sessions');
export const mailList = (): Promise<MailRow[]> => list('/api/mail', 'mail');
