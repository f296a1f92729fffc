// The pages and their addresses.
// Belongs here: one line per page, loaded when first visited. Does not belong here: what a
// page needs to know; it reads its own parameters.
import { createRouter } from 'sv-router';
import Board from './screens/board/Board.svelte';

export const { p, navigate, isActive, route } = createRouter({
  '/': Board,
  '/jobs': {
    '/new': () => import('./screens/board/NewCall.svelte'),
    '/:id': () => import('./screens/job/Job.svelte'),
    '/:id/plan': () => import('./screens/job/TestPlan.svelte'),
    '/:id/condemn': () => import('./screens/request/ClaimForm.svelte'),
  },
  '/plan': () => import('./screens/plan/Plan.svelte'),
  '/requests': {
    '/': () => import('./screens/request/Requests.svelte'),
    '/:id': () => import('./screens/request/Request.svelte'),
  },
  '/customers': {
    '/': () => import('./screens/customers/Customers.svelte'),
    '/:id': () => import('./screens/customers/Customer.svelte'),
  },
  '/units/:id': () => import('./screens/customers/Unit.svelte'),
  '/circuits': {
    '/': () => import('./screens/circuits/Circuits.svelte'),
    '/write': () => import('./screens/circuits/Write.svelte'),
    '/:name': () => import('./screens/circuits/Circuit.svelte'),
  },
  '/meters': () => import('./screens/meters/Meters.svelte'),
  '/people': () => import('./screens/people/People.svelte'),
  '/sign-ins': () => import('./screens/people/Sessions.svelte'),
  '/weekend': () => import('./screens/weekend/Weekend.svelte'),
  '/rules': {
    '/': () => import('./screens/rules/Rules.svelte'),
    '/new': () => import('./screens/rules/NewRule.svelte'),
    '/:id': () => import('./screens/rules/Rule.svelte'),
  },
  '/reads': () => import('./screens/request/Pairs.svelte'),
  '/rota': {
    '/': () => import('./screens/rota/Rota.svelte'),
    '/fairness': () => import('./screens/rota/Fairness.svelte'),
    '/days': () => import('./screens/rota/ShopDays.svelte'),
  },
  '/search': () => import('./screens/search/Search.svelte'),
  '/ladders': () => import('./screens/ladders/Ladders.svelte'),
  '/shop': () => import('./screens/shop/ShopSettings.svelte'),
  '/mail': () => import('./screens/mail/Mail.svelte'),
  '*': () => import('./screens/NotFound.svelte'),
});
