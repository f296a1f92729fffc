// Generated from services/http/openapi.json by `npm run types`; do not edit by hand.
// Belongs here: nothing but what the generator writes.

export interface paths {
    "/api/board": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A page of the board. */
        get: operations["board_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/board/jobs": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The rows of some jobs, as they are now; what is not the shop's is left out. */
        get: operations["board_rows"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/calendar": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The shop's calendar. */
        get: operations["calendar_show"];
        /** Replaces what the shop says of its hours and days. It is on the record. */
        put: operations["calendar_change"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/calendar/countries": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The countries whose public holidays are known. */
        get: operations["calendar_countries"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/capacity": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The chance that a call waits longer than it may, the load and what is short, hour by hour. */
        get: operations["capacity_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/capacity/settings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** How long each class may wait, and the usual way to a call. */
        get: operations["capacity_setting_show"];
        /** Changes them, on the record. */
        put: operations["capacity_setting_change"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/capacity/weather": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /** Enters the outdoor temperature of a day, or takes it back. No service outside is asked. */
        put: operations["weather_change"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/check": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Judges a case, keeping nothing: the very same path as `countersign check`. Not for whoever
         *     owes a blind read, nor on the circuit of a request that they could still read blind.
         */
        post: operations["check_run"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/circuits": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The circuits that a unit can be given, and those of the shop's own that are withdrawn. */
        get: operations["circuit_list"];
        put?: never;
        /** Adds a version of one of the shop's own circuits; the first makes it. Units stay on theirs. */
        post: operations["circuit_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/circuits/look": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Looks a circuit file over, keeping nothing: what `countersign circuit check` does. */
        post: operations["circuit_look"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/circuits/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One circuit: points, parts, connectors and how it is drawn. */
        get: operations["circuit_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/circuits/{name}/file": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A circuit's file, to read or to start one's own from. */
        get: operations["circuit_file"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/circuits/{name}/units": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The shop's units that have a circuit. */
        get: operations["circuit_units"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/circuits/{name}/versions": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Every version of one of the shop's own circuits, newest first; none for one that ships. */
        get: operations["circuit_versions"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/circuits/{name}/withdraw": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Takes one of the shop's own circuits out of the list; a new version brings it back. */
        post: operations["circuit_withdraw"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/customers": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The shop's customers, by name. */
        get: operations["customer_list"];
        put?: never;
        /** Adds a customer. */
        post: operations["customer_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/customers/search": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Finds customers by a piece of a name, a telephone number or an address, as somebody types. */
        get: operations["customer_search"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/customers/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A customer with sites and units. */
        get: operations["customer_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        /** Changes a customer. */
        patch: operations["customer_change"];
        trace?: never;
    };
    "/api/customers/{id}/sites": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Adds a site to a customer. */
        post: operations["site_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/delegates": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Who may approve now, though they do not manage. */
        get: operations["delegates_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/demo/sign-ins": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The demo's sign-ins; none anywhere else. */
        get: operations["demo_sign_ins"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/feeds/{token}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The duties behind a link, as an RFC 5545 calendar: a month back and some half a year ahead. */
        get: operations["feed_read"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/found": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What the shop's calls turned out to be, beside what the circuit files expected of them. */
        get: operations["shop_found_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest-links/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /** Ends a link, the guest's session and their open sockets. */
        delete: operations["link_revoke"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/blind-read": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Commits the blind read; the claim is shown from then on. */
        post: operations["guest_read_commit"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/case": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The case: circuit, readings, and the request, blind until it is read. */
        get: operations["guest_case"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/code": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Sends a code to the address that the guest names. */
        post: operations["guest_code_send"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/countersign": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Countersigns on the evidence that the guest saw, with what they stated of themselves. */
        post: operations["guest_countersign"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/decline": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Says no. The link ends with it. */
        post: operations["guest_decline"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/invitation": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** What a link is for, and whether it still stands. */
        post: operations["guest_invitation"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/live-ticket": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** A ticket that opens one websocket at `/live`, for the guest's thread and request only. */
        post: operations["guest_ticket"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/send-back": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Sends the request back with what to measure. */
        post: operations["guest_send_back"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/session": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Takes the code and opens a session, whose token is in a cookie. */
        post: operations["guest_session_open"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/take": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Takes the request for a blind read. */
        post: operations["guest_take"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/thread": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The one thread, once the guest's read is in. */
        get: operations["guest_thread"];
        put?: never;
        /** Says something in the one thread. */
        post: operations["guest_say"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/guest/thread/mark": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Keeps how far the guest has read the thread. */
        post: operations["guest_mark"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/health": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Whether the service and its database answer. */
        get: operations["health_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/intake": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The plain questions, and the class that these answers make; nothing is kept. */
        get: operations["intake_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Takes a job: a technician for themselves, a scheduler or manager for anybody. */
        post: operations["job_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A job with its unit, site, customer and where its condemn request stands. */
        get: operations["job_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        /** Changes a job: a scheduler or manager anything, a technician the state of their own. */
        patch: operations["job_change"];
        trace?: never;
    };
    "/api/jobs/{id}/assignment": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Gives a job to somebody, or takes it back. */
        post: operations["job_assign"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{id}/decline": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Says no to an urgent job that the caller is asked to take; the next are asked when nobody is
         *     left to answer.
         */
        post: operations["job_decline"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{id}/history": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What happened to the job itself, oldest first. */
        get: operations["job_history"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{id}/holdover": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A job's latest holdover, standing or ended; null where there was none. */
        get: operations["holdover_show"];
        put?: never;
        /**
         * Defers a job until a working day, with what makes the site safe until then. The customer is
         *     told by mail, with a link to say that it got worse.
         */
        post: operations["holdover_add"];
        /** Takes a deferral back: the job is on the board again at once. */
        delete: operations["holdover_end"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{id}/holdover/asks": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What is asked before a job is deferred. */
        get: operations["holdover_asks"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{id}/ladder": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The latest ladder of a job that nobody had; null where there was none. */
        get: operations["job_ladder_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{id}/pin": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Pins a job: proposals leave it with its person and its time. */
        post: operations["job_pin"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/asks/{ask_id}/answer": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Answers an ask of the job's thread: the reading joins the evidence, and the thread says so. */
        post: operations["ask_answer"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/evidence": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A job's evidence and, where the caller may see it, what it proves. */
        get: operations["evidence_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/found": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What people said that a job turned out to be; the first counts. */
        get: operations["job_found_show"];
        put?: never;
        /**
         * Says what a job turned out to be. A later word supersedes an earlier one; both stay. Requests
         *     that are open elsewhere keep the odds that they were made with.
         */
        post: operations["job_found_say"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/observations": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Keeps an answer to one of the circuit's questions; the latest on a sign counts. */
        post: operations["observation_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/photos": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Keeps a photo of a job. It is shown once a message of kind `photo` names it. */
        post: operations["photo_keep"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/readings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Keeps a reading, once the engine has found nothing wrong with it. */
        post: operations["reading_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/requests": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Makes a condemn request on a job: the claim that one component has failed. */
        post: operations["request_make"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/test-plan": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * What to measure after which answer, from where the job's evidence stands: one sheet for the
         *     truck.
         */
        get: operations["test_plan_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/thread": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A job's thread. */
        get: operations["thread_show"];
        put?: never;
        /** Says something in a job's thread. */
        post: operations["thread_say"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{job_id}/thread/mark": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Keeps how far the caller has read. */
        post: operations["thread_mark"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/ladders": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The shop's ladders in force, what ships, and who changed them when. */
        get: operations["ladders_show"];
        /** Saves the shop's ladders as the next version. What climbs already goes on as it started. */
        put: operations["ladders_save"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/ladders/preview": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Tells what would happen at a moment if nobody ever answered; keeps nothing. */
        post: operations["ladders_preview"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/live/ticket": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** A ticket that opens one websocket at `/live`. Needs no key: an unused one only runs out. */
        post: operations["ticket_give"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/mail": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The shop's mail, newest first, for those who manage. */
        get: operations["mail_list"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/me": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Who I am, in which shop. */
        get: operations["me_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/meters": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The shop's meters. */
        get: operations["meter_list"];
        put?: never;
        /** Adds a meter. */
        post: operations["meter_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/meters/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /** Says everything about a meter anew, or retires it. Readings taken with it stay as they were. */
        put: operations["meter_change"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/people": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Everyone in the shop, by name. */
        get: operations["person_list"];
        put?: never;
        /** Adds a person to the shop. */
        post: operations["person_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/people/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        /** Changes a person: anyone for those who manage, others their own name, telephone, password. */
        patch: operations["person_change"];
        trace?: never;
    };
    "/api/people/{id}/delegation": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /**
         * Names somebody who may approve below an amount for a while, in place of what was delegated to
         *     them before. The ladder for approvals reaches them from then on.
         */
        put: operations["delegate_name"];
        post?: never;
        /** Ends whatever is delegated to somebody. */
        delete: operations["delegate_drop"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/people/{id}/quiet-hours": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Somebody's quiet hours: their own, or the shop's. */
        get: operations["quiet_show"];
        /** Changes somebody's quiet hours: one's own, or anybody's for those who manage. */
        put: operations["quiet_put"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/photos/{photo_id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A photo's bytes, for whoever may see the thread of its job. */
        get: operations["photo_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/plans": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The latest proposals, newest first. */
        get: operations["plan_list"];
        put?: never;
        /** Asks for a proposal; it takes some seconds, and is not kept where nobody waits for it. */
        post: operations["plan_ask"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/plans/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A proposal beside the board as it was, what was taken of it, and what has changed since. */
        get: operations["plan_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/plans/{id}/drop": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Lets the plan go; what was taken of it stays. */
        post: operations["plan_drop"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/plans/{id}/take": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Takes the plan over, whole or for some jobs; all of them or none. */
        post: operations["plan_take"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/plans/{id}/undo": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Gives the last taking back, while nothing of it has begun. */
        post: operations["plan_undo"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/readings/{reading_id}/strike": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Strikes a reading that is no longer believed: it stays on the record and counts no more. */
        post: operations["reading_strike"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/reads/pairs": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Who reads for whom, how often they agree and how soon they sign; for those who manage. */
        get: operations["pair_list"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The shop's condemn requests, latest change first. */
        get: operations["request_list"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A condemn request. */
        get: operations["request_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/approve": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Answers for the money. */
        post: operations["request_approve"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/ask": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Asks one person now, whatever the ladder would do. */
        post: operations["request_ask"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/blind-read": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Commits a blind read; the claim is shown from then on. */
        post: operations["request_read_commit"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/candidates": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Who may read a request, best placed first, with the reasons; for whoever sees the claim. */
        get: operations["request_candidates"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/countersign": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Countersigns a request on the evidence that the signer saw. */
        post: operations["request_countersign"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/decline": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Declines a request. */
        post: operations["request_decline"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/decline-read": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Says no to an ask, with the reason; the next are asked at once when nobody is left. */
        post: operations["request_decline_read"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/guest-links": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The links of a request, newest first, with who came by them. */
        get: operations["link_list"];
        put?: never;
        /**
         * Makes a link for a guest reader of one request. Its token is shown in this answer and never
         *     again.
         */
        post: operations["link_make"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/hand-on": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Hands a request on to another reader. */
        post: operations["request_hand_on"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/override": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Lets a held request through to its second read although it is not isolated. */
        post: operations["request_override_isolation"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/overturn": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Ends a request because evidence changed the mind. */
        post: operations["request_overturn"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/send-back": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Sends a request back with what to measure. */
        post: operations["request_send_back"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/stand-aside": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Shows the claim to someone who will then not read it. */
        post: operations["request_stand_aside"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/submit": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Submits a draft: it is held, or ready for a second read. */
        post: operations["request_submit"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/take": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Takes a request for a second read; the job's thread is closed to the reader until the
         *     blind read is in.
         */
        post: operations["request_take"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/requests/{request_id}/withdraw": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Takes a request back. */
        post: operations["request_withdraw"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The rota from one moment to another, at most 400 days; five weeks from now where not asked. */
        get: operations["rota_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/duty": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Who is on duty now, each with since when and until when without a break. */
        get: operations["duty_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/entries": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Puts one entry in. */
        post: operations["entry_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/entries/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /** Takes one entry out. A body is only needed to say why. */
        delete: operations["entry_remove"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/fairness": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * What a quarter holds for each of the shop's technicians, against the even share, and how near
         *     each is to breaking rest in the coming week.
         */
        get: operations["fairness_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/feed": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Whether the caller has a link to their duties as a calendar. */
        get: operations["feed_show"];
        put?: never;
        /** Makes a link to the caller's own duties; the one before ends. */
        post: operations["feed_new"];
        /** Ends the caller's link. */
        delete: operations["feed_drop"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/leave": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Leave asked for and answered lately: the caller's own, and everybody's for those who give out
         *     work.
         */
        get: operations["leave_list"];
        put?: never;
        /** Asks for leave. */
        post: operations["leave_ask"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/leave/{id}/grant": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Grants leave; duties in its time are taken out, or cut where they reach beyond. */
        post: operations["leave_grant"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/leave/{id}/refuse": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Refuses leave, with a reason. */
        post: operations["leave_refuse"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/leave/{id}/withdraw": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Withdraws leave that the caller asked for and nobody has answered. */
        post: operations["leave_withdraw"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/pattern": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Puts a week's duties in over many weeks, or only tries it. */
        post: operations["apply_pattern"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/second": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Opens the second rota from now on; whoever is on it is on call and told so. */
        post: operations["second_open"];
        /** Closes the second rota; nothing happens where it is not open. */
        delete: operations["second_close"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/swaps": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The shop's offers to swap: open ones first, then those of the last 30 days. */
        get: operations["swap_list"];
        put?: never;
        /** Offers one of the caller's duties, for one of a colleague's or for nothing. */
        post: operations["swap_offer"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/swaps/{id}/accept": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Accepts an offer: the duties change hands at once. */
        post: operations["swap_accept"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/swaps/{id}/decline": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Declines an offer that was made to the caller. */
        post: operations["swap_decline"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rota/swaps/{id}/withdraw": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Withdraws an offer of the caller's. */
        post: operations["swap_withdraw"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rules": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The shop's rules with their latest firings, and what a condition may speak of. */
        get: operations["rule_list"];
        put?: never;
        /** Adds a rule. */
        post: operations["rule_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rules/check": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** What is wrong with a condition, keeping nothing. */
        post: operations["rule_check"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rules/rehearse": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** What a rule would have done last weekend, or would do on ones that are drawn; keeps nothing. */
        post: operations["rule_rehearse"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rules/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A rule with its versions and firings. */
        get: operations["rule_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rules/{id}/versions": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Saves a new version of a rule; none is ever changed. */
        post: operations["rule_change"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/session": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Signs in. */
        post: operations["session_open"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/session/end": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Signs out: ends the session of the refresh cookie, and its open sockets. */
        post: operations["session_end"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/session/refresh": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Trades the refresh cookie for the next one and a new access token. */
        post: operations["session_refresh"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sessions": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The sessions that stand: the caller's own, or everybody's for those who manage. */
        get: operations["session_list"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sessions/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /** Ends a session, and its open sockets. */
        delete: operations["session_revoke"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/shop": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The caller's shop. */
        get: operations["shop_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        /** Changes the caller's shop. Thresholds and rules that change are on the record. */
        patch: operations["shop_change"];
        trace?: never;
    };
    "/api/shop/threshold-changes": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The changes of what the shop judges by, newest first; at most 200. */
        get: operations["threshold_changes"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sites/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        /** Changes a site. */
        patch: operations["site_change"];
        trace?: never;
    };
    "/api/sites/{id}/units": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Adds a unit to a site. */
        post: operations["unit_add"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/standing": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What stands on the shop's open jobs: ladders with their next step, and deferrals. */
        get: operations["standing_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/threads/search": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Searches the shop's threads, best first. Threads that the caller may not see now are left
         *     out.
         */
        get: operations["thread_search"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/units/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A unit. */
        get: operations["unit_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        /** Changes a unit. New values make open requests on it be judged again. */
        patch: operations["unit_change"];
        trace?: never;
    };
    "/api/ways": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** How ways between the shop's places are reckoned. */
        get: operations["ways_show"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        /** Changes how ways are reckoned, or puts a whole table of known ways in. */
        patch: operations["ways_change"];
        trace?: never;
    };
    "/api/ways/table": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * A table of ways to fill in, as CSV: every two places of open jobs, with the minutes as
         *     reckoned now.
         */
        get: operations["ways_table"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/worse": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Takes a customer's answer; a repeat changes nothing. */
        post: operations["worse_answer"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/worse/look": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** What a customer's link is about. */
        post: operations["worse_look"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
}
export type webhooks = Record<string, never>;
export interface components {
    schemas: {
        /** @description The body that adds an observation. */
        AddObservation: {
            /** @description Whether it was found. */
            present: boolean;
            /** @description The sign, as the circuit names it. */
            sign: string;
        };
        /** @description The body that adds a reading. */
        AddReading: {
            /** @description The reading. */
            reading: components["schemas"]["NewReading"];
        };
        /** @description A decision about the money. */
        Approval: {
            /**
             * Format: int64
             * @description The amount answered for.
             */
            amount_cents: number;
            approver?: components["schemas"]["PersonRef"] | null;
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description approved or declined. */
            decision: string;
            /** @description The evidence it was given on. */
            digest: string;
            /** @description In the manager's words. */
            reason: string;
        };
        /** @description When a person must approve, whatever the amount. */
        ApprovalRules: {
            /**
             * Format: int32
             * @description The unit is at least this old, in years; null for no such rule.
             */
            age_years?: number | null;
            /** @description A blind read differed from the claim. */
            disagreement: boolean;
            /** @description Isolation was overridden. */
            override: boolean;
            /** @description The unit is under warranty. */
            warranty: boolean;
        };
        /** @description The body of an approval. */
        Approve: {
            /**
             * Format: int64
             * @description The amount answered for.
             */
            amount_cents: number;
            /** @description The evidence, as the approver saw it. */
            digest: string;
            /** @description In the approver's words. */
            reason?: string;
        };
        /** @description What somebody is asked to measure. */
        Ask: {
            /** @description The point of the first probe. */
            from: string;
            /** @description What to lift first. */
            lifted?: string[];
            power: components["schemas"]["Power"];
            quantity: components["schemas"]["Quantity"];
            /** @description Under power: which of the circuit's states to read it in. */
            state?: string | null;
            /** @description The point of the second. */
            to: string;
            /** @description What it would settle, in the asker's words. */
            why?: string;
        };
        /** @description The body that asks somebody. */
        AskOne: {
            /**
             * Format: uuid
             * @description Who.
             */
            person_id: string;
        };
        /** @description Giving a job to somebody, or taking it back. */
        AssignmentPut: {
            /** @description Why it is right though something speaks against it; needed only then. */
            because?: string | null;
            /**
             * Format: uuid
             * @description Who is to go; null takes it back.
             */
            person_id?: string | null;
            /**
             * Format: date-time
             * @description Planned to.
             */
            planned_end?: string | null;
            /**
             * Format: date-time
             * @description Planned from; the promised window where both ends are absent.
             */
            planned_start?: string | null;
            /**
             * Format: int32
             * @description The version that was looked at.
             */
            version: number;
            /**
             * Format: date-time
             * @description Promised to.
             */
            window_end?: string | null;
            /**
             * Format: date-time
             * @description What the customer is promised, from; the promise stays where both ends are absent.
             */
            window_start?: string | null;
        };
        /** @description A page of the board at one moment. */
        Board: {
            /**
             * Format: int64
             * @description Every change up to this number of the live stream is in it.
             */
            as_of_live: number;
            /** @description How many open jobs there are, whatever was asked. */
            counts: components["schemas"]["BoardCounts"];
            /** @description Open jobs first, by urgency and promised time; then those that ended lately. */
            jobs: components["schemas"]["BoardJob"][];
            /**
             * Format: int64
             * @description How many match what was asked, on all pages; null on all pages but the first.
             */
            matching?: number | null;
            /** @description Hand this back as `after` for the next page; null on the last. */
            next?: string | null;
        };
        /** @description How many open jobs there are. */
        BoardCounts: {
            /**
             * Format: int64
             * @description Comfort.
             */
            comfort: number;
            /**
             * Format: int64
             * @description Stored food.
             */
            food_storage: number;
            /**
             * Format: int64
             * @description Nobody is there yet and the promised time is over.
             */
            late: number;
            /**
             * Format: int64
             * @description No heat or no cooling.
             */
            no_heat_cool: number;
            /**
             * Format: int64
             * @description No heat, with somebody who cannot bear it.
             */
            no_heat_vulnerable: number;
            /**
             * Format: int64
             * @description Given to nobody.
             */
            not_given: number;
            /**
             * Format: int64
             * @description All that are not over.
             */
            open: number;
            /**
             * Format: int64
             * @description Water.
             */
            water: number;
        };
        /** @description One job on the board: what a row or a bar draws. The live stream sends the same as `row`. */
        BoardJob: {
            assigned_to?: components["schemas"]["PersonRef"] | null;
            /** @description What the customer says is wrong; the beginning of it where it is long. */
            complaint: string;
            /** @description The customer. */
            customer_name: string;
            /**
             * Format: int32
             * @description Minutes it is expected to take on site.
             */
            expected_min: number;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /**
             * Format: date-time
             * @description When anything about it last changed.
             */
            last_change_at: string;
            /**
             * Format: date-time
             * @description Nobody need go before this.
             */
            not_before?: string | null;
            /**
             * Format: int32
             * @description Counted per shop.
             */
            number: number;
            /**
             * Format: date-time
             * @description Planned to.
             */
            planned_end?: string | null;
            /**
             * Format: date-time
             * @description Planned from: when whoever has it is, or was last, meant to be there.
             */
            planned_start?: string | null;
            /**
             * Format: int64
             * @description Readings that are not struck.
             */
            readings_count: number;
            request?: components["schemas"]["RequestSummary"] | null;
            /** @description What whoever goes must be qualified for. */
            required: components["schemas"]["Qualification"][];
            /** @description Where it stands. */
            state: components["schemas"]["JobState"];
            /** @description The site's town. */
            town: string;
            /** @description The unit. */
            unit_label: string;
            /** @description How long it can wait. */
            urgency: components["schemas"]["Urgency"];
            /**
             * Format: int32
             * @description Counts changes of the job itself.
             */
            version: number;
            /** @description Whether somebody there cannot be without heat or cooling. */
            vulnerable: boolean;
            /**
             * Format: date-time
             * @description Promised to.
             */
            window_end?: string | null;
            /**
             * Format: date-time
             * @description Promised from.
             */
            window_start?: string | null;
            /** @description What kind of work it is. */
            work: components["schemas"]["Work"];
            /** @description The site's zone; its times are shown local to it. */
            zone: string;
        };
        /** @description What a shop says of its hours and days. */
        CalendarPut: {
            /** @description Whose public holidays; null for none. */
            country?: string | null;
            /** @description Days of the shop's own: closed ones added, public holidays struck out. */
            own_days?: components["schemas"]["OwnDay"][];
            /** @description The rest rule. */
            rest: components["schemas"]["RestRule"];
            /** @description Opening by weekday, Monday first: seven lists, each in order. */
            week: components["schemas"]["OpenHours"][][];
        };
        /**
         * @description What a caller says to a plain question.
         * @enum {string}
         */
        CallAnswer: "yes" | "no" | "unsure";
        /** @description What was answered to the plain questions; absent is not asked, and counts as no. */
        CallAnswers: {
            co_alarm?: components["schemas"]["CallAnswer"] | null;
            food?: components["schemas"]["CallAnswer"] | null;
            gas_smell?: components["schemas"]["CallAnswer"] | null;
            no_heat_cool?: components["schemas"]["CallAnswer"] | null;
            smoke?: components["schemas"]["CallAnswer"] | null;
            vulnerable?: components["schemas"]["CallAnswer"] | null;
            water?: components["schemas"]["CallAnswer"] | null;
        };
        /** @description Somebody who may read it. */
        Candidate: {
            /**
             * Format: double
             * @description How soon they will probably have answered, in minutes.
             */
            answers_in_min: number;
            ask?: components["schemas"]["ReaderAsk"] | null;
            /** @description Why they stand where they do, each a short clause. */
            because: string[];
            /** @description Who. */
            person: components["schemas"]["PersonRef"];
        };
        /** @description Who may read a request, and who may not. */
        CandidateList: {
            /** @description Everyone else in the shop. */
            excluded: components["schemas"]["ExcludedCandidate"][];
            /** @description Best placed first. */
            ranked: components["schemas"]["Candidate"][];
        };
        /** @description A chance with what the number of runs leaves open. */
        CapacityChance: {
            /**
             * Format: double
             * @description Calls that it is about, each run.
             */
            calls: number;
            /**
             * Format: double
             * @description The estimate, 0 to 1.
             */
            chance: number;
            /**
             * Format: double
             * @description Upper end of it.
             */
            high: number;
            /**
             * Format: double
             * @description Lower end of the 95 % interval.
             */
            low: number;
            /** @description "1 in 12". */
            words: string;
        };
        /** @description A class over a span. */
        CapacityClass: {
            /**
             * Format: double
             * @description Calls expected.
             */
            calls: number;
            /** @description The chance that one waits longer. */
            chance: components["schemas"]["CapacityChance"];
            /** @description The class. */
            class: string;
            /**
             * Format: double
             * @description How long it may wait, minutes.
             */
            tolerable_min: number;
        };
        /** @description One hour of a span. */
        CapacityHour: {
            /**
             * Format: date-time
             * @description When it begins.
             */
            at: string;
            /** @description Whether the load reaches the supply: `no`, `may` (in one run of ten), `will` (on average). */
            crosses: string;
            /**
             * Format: double
             * @description Calls waiting at its end that are later than they may be, all classes together.
             */
            late: number;
            /**
             * Format: double
             * @description People that would be busy if everybody were served at once, on average.
             */
            load: number;
            /**
             * Format: double
             * @description One run in ten has more.
             */
            load_high: number;
            /**
             * Format: double
             * @description One run in ten has less.
             */
            load_low: number;
            /**
             * Format: double
             * @description People further on call.
             */
            on_call_left: number;
            /**
             * Format: double
             * @description People on the second rota.
             */
            second: number;
            /**
             * Format: double
             * @description People on shift, and the first on call.
             */
            supply: number;
            /**
             * Format: double
             * @description The same at a usual year's temperature, with nothing waiting from before.
             */
            usual: number;
        };
        /** @description What is to be expected of a span. */
        CapacityOutlook: {
            /** @description The whole span by class, most pressing first. */
            classes: components["schemas"]["CapacityClass"][];
            /**
             * Format: date-time
             * @description To.
             */
            end: string;
            /** @description Each hour. */
            hours: components["schemas"]["CapacityHour"][];
            /** @description What it was reckoned from, a sentence each. */
            notes: string[];
            /** @description Each part of the span, by when a call comes in. */
            parts: components["schemas"]["CapacityPart"][];
            /** @description Each place that calls come from, the most calls first; none where no place is known. */
            places: components["schemas"]["CapacityPlace"][];
            /**
             * Format: date-time
             * @description When it was reckoned.
             */
            reckoned_at: string;
            /** @description The rules that are on and will probably fire. */
            rules: components["schemas"]["CapacityRule"][];
            /**
             * Format: int64
             * @description How often it was played.
             */
            runs: number;
            /**
             * Format: int64
             * @description What was drawn with.
             */
            seed: number;
            /** @description What is short, the most telling first. */
            short: components["schemas"]["CapacityShort"][];
            /** @description The span's name. */
            span: string;
            /**
             * Format: date-time
             * @description From.
             */
            start: string;
            /** @description Outdoors on the days of the span. */
            weather: components["schemas"]["CapacityWeather"][];
        };
        /** @description A part of a span. */
        CapacityPart: {
            /** @description By class. */
            chances: {
                [key: string]: components["schemas"]["CapacityChance"];
            };
            /**
             * Format: date-time
             * @description From.
             */
            from: string;
            /**
             * Format: date-time
             * @description To.
             */
            to: string;
        };
        /** @description A place that calls come from. */
        CapacityPlace: {
            /** @description The chance that a call from there waits longer than it may, all classes together. */
            chance: components["schemas"]["CapacityChance"];
            /** @description Its name. */
            name: string;
            /**
             * Format: double
             * @description Calls from there that would be late for the way alone.
             */
            way_late: number;
            /**
             * Format: double
             * @description The way there from the shop, minutes.
             */
            way_min: number;
        };
        /** @description A rule that will probably fire. */
        CapacityRule: {
            /**
             * Format: date-time
             * @description When, in the middle of those.
             */
            at: string;
            /** @description What it does, in words. */
            does: string[];
            /** @description Its name. */
            name: string;
            /**
             * Format: uuid
             * @description The rule.
             */
            rule_id: string;
            /**
             * Format: double
             * @description Share of the drawn spans in which it fires.
             */
            share: number;
        };
        /** @description What a shop says about capacity. */
        CapacitySettings: {
            /** @description Whether the shop said so; defaults that are common practice, no source, otherwise. */
            own: boolean;
            /** @description Longest wait by class, minutes. */
            tolerable_min: {
                [key: string]: number;
            };
            /**
             * Format: int64
             * @description The way to a call where its place is not known, minutes.
             */
            travel_min: number;
        };
        /** @description What to change of it: all. */
        CapacitySettingsPut: {
            /** @description Longest wait by class, minutes. */
            tolerable_min: {
                [key: string]: number;
            };
            /**
             * Format: int64
             * @description The usual way to a call, minutes.
             */
            travel_min: number;
        };
        /** @description Something that is short. */
        CapacityShort: {
            /**
             * Format: double
             * @description Calls late for this.
             */
            calls: number;
            /**
             * Format: date-time
             * @description From.
             */
            from: string;
            /** @description The place's name, where it is one that is known. */
            place?: string | null;
            /** @description The qualification, where it is one. */
            qualification?: string | null;
            /** @description In a sentence. */
            says: string;
            /**
             * Format: date-time
             * @description To.
             */
            to: string;
            /** @description `hours`, `qualification` or `place`. */
            what: string;
        };
        /** @description Outdoors on a day. */
        CapacityWeather: {
            /**
             * Format: date
             * @description The day.
             */
            day: string;
            /** @description Somebody entered it; guessed from the season or from calls otherwise. */
            entered: boolean;
            /**
             * Format: int32
             * @description °F.
             */
            outdoor_f: number;
        };
        /** @description One case: a circuit, what is known of the unit, the readings, what was seen, the claim. */
        Case: {
            /**
             * Format: uint32
             * @description Version of this format; 1.
             */
            format: number;
            /** @description A line for people, shown with the verdict. */
            title?: string | null;
            /** @description The name of a shipped circuit, or of the one given in `circuit_text`. */
            circuit: string;
            /** @description A whole circuit file (TOML), where the circuit is not a shipped one. */
            circuit_text?: string | null;
            /** @description Nameplate and service-sheet values, by part. */
            specs?: {
                [key: string]: components["schemas"]["Spec"];
            };
            /**
             * @description What is claimed to have failed. Without it the verdict says what the readings isolate
             *     by themselves; this is what a blind reader's page is judged with.
             */
            claim?: components["schemas"]["Claim"] | null;
            /**
             * @description The readings, in the order in which they were taken.
             * @default []
             */
            readings: components["schemas"]["Reading"][];
            /**
             * @description What was seen, heard, smelt or established, in the order answered; of several answers to one
             *     sign the latest counts.
             * @default []
             */
            observations: components["schemas"]["Observation"][];
            /** @description Shop thresholds; the defaults where absent. */
            policy?: components["schemas"]["Policy"] | null;
            /**
             * @description What the shop's confirmed calls say of how often what is the fault; the circuit file's own
             *     priors alone where absent.
             */
            rates?: components["schemas"]["Rates"] | null;
        };
        /** @description One electrical model of a kind of unit. */
        Circuit: {
            /**
             * Format: uint32
             * @description Version of this format; 1.
             */
            format: number;
            /** @description The identifier, e.g. "compressor-1ph-plug". */
            name: string;
            /** @description A line for people. */
            title: string;
            /** @description What the newcomer should know before using it. */
            about: string;
            /** @description The point that stands for the metal shell and chassis, where there is one. */
            shell?: string | null;
            /**
             * Format: double
             * @description How often nothing in this circuit is wrong on a call where it is looked at, 0.01 to
             *     0.9. Where absent it follows from the faults' own priors.
             */
            nothing_wrong?: number | null;
            /**
             * Format: double
             * @description Frequency of the supply, hertz: 50 or 60; 60 where absent.
             */
            hertz?: number | null;
            /**
             * @description The conditions in which it can be read under power. The first is the one meant where
             *     a reading names none.
             */
            states?: components["schemas"]["State"][];
            /** @description Where work is done, and what it costs to open. */
            places: components["schemas"]["Place"][];
            /** @description Where a probe can touch, and the hidden joints. */
            points: components["schemas"]["Point"][];
            /** @description What is bought and replaced as one piece. */
            components: components["schemas"]["Component"][];
            /** @description What can fail. */
            parts: components["schemas"]["Part"][];
            /**
             * @description What can be lifted.
             * @default []
             */
            connectors: components["schemas"]["Connector"][];
            /**
             * @description What can be seen, heard, smelt or established.
             * @default []
             */
            signs: components["schemas"]["Sign"][];
            /**
             * @description Checks that stand beside the model.
             * @default []
             */
            checks: components["schemas"]["CheckSpec"][];
        };
        /** @description A version to add, or a file to look over. */
        CircuitAdd: {
            /**
             * Format: int32
             * @description The latest version that the author saw; 0 for a new circuit.
             */
            after_version: number;
            /** @description What is different from the version before; needed from the second on. */
            note?: string;
            /** @description The circuit file (TOML); its own name says which circuit it is. */
            text: string;
        };
        /** @description A condition, and the faults that no reading in it tells apart. */
        CircuitCondition: {
            /** @description Groups of two or more, larger first. */
            groups: string[][];
            /** @description "power off, compressor plug off". */
            label: string;
        };
        /** @description A circuit file that somebody is writing. */
        CircuitDraft: {
            /** @description Whether to say which faults no reading of a condition tells apart, which takes seconds. */
            survey?: boolean;
            /** @description The file (TOML). */
            text: string;
        };
        /** @description A circuit's file. */
        CircuitFile: {
            /** @description Its identifier. */
            name: string;
            /** @description The file (TOML). */
            text: string;
            /**
             * Format: int32
             * @description Which version; null for one that ships.
             */
            version?: number | null;
        };
        /** @description A circuit that a unit can be given. */
        CircuitListed: {
            /** @description What to know before using it. */
            about: string;
            /** @description Its identifier. */
            name: string;
            /** @description A line for people. */
            title: string;
            /**
             * Format: int64
             * @description Units of the shop's own circuit that are on an older version; 0 for one that ships.
             */
            units_behind: number;
            /**
             * Format: int32
             * @description The latest version, of one of the shop's own; null for one that ships.
             */
            version?: number | null;
            /** @description Why no unit can be given it any more; null where one can. */
            withdrawn?: string | null;
        };
        /** @description What a circuit file comes to. */
        CircuitLooked: {
            /** @description The circuit, ready to draw. */
            circuit: components["schemas"]["Circuit"];
            /** @description Per condition, faults that no reading in it tells apart; empty where not asked for. */
            conditions: components["schemas"]["CircuitCondition"][];
        };
        /** @description A unit that has a circuit. */
        CircuitUnit: {
            /**
             * Format: int32
             * @description Which version it has.
             */
            circuit_version?: number | null;
            /**
             * Format: uuid
             * @description Whose it is.
             */
            customer_id: string;
            /** @description Their name. */
            customer_name: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description What people call it. */
            label: string;
            /**
             * Format: int32
             * @description Counts the unit's changes; send it with the next one.
             */
            version: number;
        };
        /** @description A version of one of the shop's own circuits. */
        CircuitVersion: {
            /** @description Who added it. */
            added_by: components["schemas"]["PersonRef"];
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description What is different from the one before. */
            note: string;
            /**
             * Format: int64
             * @description Units that have it.
             */
            units: number;
            /**
             * Format: int32
             * @description Counted from 1.
             */
            version: number;
        };
        /** @description Why a circuit is withdrawn. */
        CircuitWithdraw: {
            /** @description In words. */
            reason: string;
        };
        /** @description The claim that one component has failed; part and mode say how, when known. */
        Claim: {
            /** @description The component to be replaced, as named in the circuit. */
            component: string;
            /** @description The part of it that is said to have failed. */
            part?: string | null;
            /** @description The fault mode of that part. */
            mode?: string | null;
        };
        /** @description A condition to check. */
        ConditionCheck: {
            /** @description The condition. */
            condition: string;
        };
        /** @description What is wrong with a condition. */
        ConditionChecked: {
            /** @description In the order of the text; none when it can be saved. */
            faults: components["schemas"]["ConditionFault"][];
        };
        /** @description Something wrong in a condition. */
        ConditionFault: {
            /** @description Column, from 1. */
            column: number;
            /** @description Line, from 1. */
            line: number;
            /** @description What is wrong, and what would be right. */
            says: string;
            /** @description What to write there instead, where that can be guessed. */
            suggestion?: string | null;
        };
        /** @description A countersignature. */
        Countersignature: {
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description The evidence that was signed. */
            digest: string;
            guest?: components["schemas"]["GuestStated"] | null;
            /**
             * Format: uuid
             * @description Its id.
             */
            id: string;
            /** @description In the signer's words. */
            note: string;
            /**
             * Format: int64
             * @description Seconds from seeing the claim to signing.
             */
            seconds_since_reveal: number;
            /** @description Who signed. */
            signer: components["schemas"]["PersonRef"];
        };
        /** @description A customer. */
        Customer: {
            /** @description Address for reports and offers. */
            email?: string | null;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Name. */
            name: string;
            /** @description Anything worth knowing. */
            notes: string;
            /** @description Telephone. */
            phone?: string | null;
            /**
             * Format: int32
             * @description Counts changes.
             */
            version: number;
        };
        /** @description A new customer. */
        CustomerAdd: {
            /** @description Address for reports and offers. */
            email?: string | null;
            /** @description Name. */
            name: string;
            /** @description Anything worth knowing. */
            notes?: string;
            /** @description Telephone. */
            phone?: string | null;
        };
        /** @description Customers who match. */
        CustomerFinds: {
            /** @description At most 12, by name; those whose name begins with the first word come first. */
            customers: components["schemas"]["FoundCustomer"][];
            /** @description Whether there are more: another letter helps. */
            more: boolean;
        };
        /** @description What to change of a customer; what is absent stays, null clears. */
        CustomerPatch: {
            /** @description Address for reports and offers. */
            email?: string | null;
            /** @description Name. */
            name?: string | null;
            /** @description Anything worth knowing. */
            notes?: string | null;
            /** @description Telephone. */
            phone?: string | null;
            /**
             * Format: int32
             * @description The version that was looked at; where given, a newer one is not overwritten.
             */
            version?: number | null;
        };
        /** @description A customer with their sites, and each site's units. */
        CustomerWhole: components["schemas"]["Customer"] & {
            /** @description The sites. */
            sites: components["schemas"]["SiteWhole"][];
        };
        /** @description What to say where somebody may be in danger. */
        DangerShape: {
            /** @description "gas", "carbon_monoxide" or "fire". */
            id: string;
            /** @description What to say. */
            says: string;
        };
        /** @description The body that declines a request. */
        Decline: {
            /** @description The evidence, as the manager saw it. */
            digest: string;
            /** @description Why. */
            reason: string;
        };
        /** @description A job that was just deferred. */
        Deferred: {
            /**
             * Format: uuid
             * @description The holdover.
             */
            id: string;
            /** @description What to read out on the telephone. */
            read_out: string;
            /** @description mail, or telephone where the customer has no address. */
            told: string;
            /**
             * Format: date-time
             * @description Until when.
             */
            until: string;
        };
        /** @description Somebody who may approve for a while. */
        Delegate: {
            /**
             * Format: date-time
             * @description From when.
             */
            from: string;
            named_by?: components["schemas"]["PersonRef"] | null;
            /** @description Who. */
            person: components["schemas"]["PersonRef"];
            /**
             * Format: date-time
             * @description Until when.
             */
            until: string;
            /**
             * Format: int64
             * @description Below this amount, cents.
             */
            up_to_cents: number;
            /** @description Why, in their words. */
            why: string;
        };
        /** @description Naming somebody. */
        DelegateName: {
            /**
             * Format: date-time
             * @description Until then, at most 28 days ahead.
             */
            until: string;
            /**
             * Format: int64
             * @description Below this amount, cents, from 1 to 10,000,000.
             */
            up_to_cents: number;
            /** @description Why; goes on the record. At most 400 characters. */
            why?: string;
        };
        /** @description One of the demo's people. */
        DemoSignIn: {
            /** @description Address to sign in with. */
            email: string;
            /** @description Name. */
            name: string;
            /** @description The demo's password; everyone may know it. */
            password: string;
            /** @description What they are there for. */
            says: string;
        };
        /**
         * @description What an entry is.
         * @enum {string}
         */
        DutyKind: "shift" | "on_call" | "second" | "leave";
        /** @description Four counts of a quarter. */
        DutyLoad: {
            /**
             * Format: double
             * @description Calls they went out for while on call.
             */
            call_outs: number;
            /**
             * Format: double
             * @description Hours on duty on holidays that are no Saturday or Sunday.
             */
            holiday_h: number;
            /**
             * Format: double
             * @description Nights on duty.
             */
            nights: number;
            /**
             * Format: double
             * @description Hours on duty on Saturdays and Sundays.
             */
            weekend_h: number;
        };
        /** @description Who is on duty now. */
        DutyNow: {
            /** @description Whether the shop keeps a rota around now; where it does not, nobody is off duty. */
            known: boolean;
            /** @description Everybody with an entry that covers now. */
            people: components["schemas"]["OnDuty"][];
            /**
             * Format: date-time
             * @description Until when the second rota is open, where it is.
             */
            second_open_until?: string | null;
        };
        /** @description One value that cannot be accepted. */
        ErrorAt: {
            /**
             * Format: int32
             * @description Where the value is a file: the line of it, from 1.
             */
            line?: number | null;
            /** @description Where the value is a file: a JSON pointer into what it says ("/parts/12/between"). */
            path?: string | null;
            /** @description JSON pointer into the body ("/readings/2/from"). */
            pointer: string;
            /** @description What is wrong there, and what would be right. */
            says: string;
        };
        /** @description One thing that happened. */
        Event: {
            actor?: components["schemas"]["PersonRef"] | null;
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description What, for clients. */
            kind: string;
            /** @description What, for people. */
            words: string;
        };
        /** @description A job's evidence, with what it proves where the caller may see that. */
        Evidence: {
            /** @description The unit's circuit. */
            circuit: components["schemas"]["Circuit"];
            /** @description Whether the verdict judges the readings alone, without a claim. */
            claimless: boolean;
            hidden?: components["schemas"]["Hidden"] | null;
            /**
             * Format: uuid
             * @description The job.
             */
            job_id: string;
            /** @description Observations in the order made; the latest on a sign counts. */
            observations: components["schemas"]["EvidenceObservation"][];
            /** @description Readings in the order taken, struck ones included. */
            readings: components["schemas"]["EvidenceReading"][];
            /**
             * Format: int64
             * @description Counts every change.
             */
            revision: number;
            /** @description The unit's own values, by part. */
            specs: {
                [key: string]: components["schemas"]["Spec"];
            };
            verdict?: components["schemas"]["Verdict"] | null;
        };
        /** @description An observation as kept. */
        EvidenceObservation: {
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description Who said so. */
            by: components["schemas"]["PersonRef"];
            /** @description "o2". */
            label: string;
            /** @description Whether it was found. */
            present: boolean;
            /** @description Which sign. */
            sign: string;
        };
        /** @description A reading as kept. */
        EvidenceReading: {
            /**
             * Format: uuid
             * @description Its id.
             */
            id: string;
            /** @description "r3": what sentences call it. */
            label: string;
            meter?: components["schemas"]["MeterUsed"] | null;
            /** @description The reading. */
            reading: components["schemas"]["Reading"];
            struck?: components["schemas"]["Struck"] | null;
            /**
             * Format: date-time
             * @description When.
             */
            taken_at: string;
            /** @description Who took it. */
            taken_by: components["schemas"]["PersonRef"];
        };
        /** @description Somebody who may not. */
        ExcludedCandidate: {
            /** @description Why, after their name. */
            because: string;
            /** @description Who. */
            person: components["schemas"]["PersonRef"];
        };
        /** @description What a quarter holds for each. */
        Fairness: {
            /**
             * Format: date
             * @description The quarter's first day.
             */
            first_day: string;
            /** @description Each technician, by name. */
            people: components["schemas"]["PersonBurden"][];
            /** @description The shop's rest rule in words. */
            rule: string;
            /** @description The quarter, "4th quarter of 2026". */
            says: string;
        };
        /** @description An ask's card, filled in. */
        FilledAsk: {
            meter?: components["schemas"]["Meter"];
            /**
             * Format: uuid
             * @description One of the shop's meters, whose record then says what it can tell; of `meter` only
             *     `zeroed` counts beside it.
             */
            meter_id?: string | null;
            /**
             * Format: double
             * @description Temperature of the part, °C.
             */
            part_temp_c?: number | null;
            shown: components["schemas"]["Shown"];
            /**
             * Format: double
             * @description Minutes since the motor last ran.
             */
            stopped_min?: number | null;
        };
        /**
         * @description What a row of the shop's table counts.
         * @enum {string}
         */
        FoundClass: "fault" | "passing" | "nothing_wrong";
        /** @description A customer who was found, with what is needed to take their call. */
        FoundCustomer: {
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Name. */
            name: string;
            /** @description Telephone. */
            phone?: string | null;
            /** @description Their sites. */
            sites: components["schemas"]["FoundSite"][];
        };
        /**
         * @description How that is known.
         * @enum {string}
         */
        FoundHow: "bench_confirmed" | "run_test" | "only_replaced";
        /** @description One kind of fault: found beside expected. */
        FoundKind: {
            /** @description What is counted. */
            class: components["schemas"]["FoundClass"];
            effect?: null | components["schemas"]["Effect"];
            /**
             * Format: double
             * @description What the circuit files alone expected of these calls.
             */
            expected: number;
            /**
             * Format: double
             * @description Calls on which it was this, each by its weight.
             */
            found: number;
            kind?: null | components["schemas"]["PartKind"];
            /**
             * Format: double
             * @description By how much the files' odds of it are multiplied, before all are brought back to their sum;
             *     0.2 to 5.
             */
            times: number;
        };
        /** @description A message that was found. */
        FoundMessage: {
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description Who wrote it; null for the service. */
            author?: string | null;
            /** @description What was wrong there. */
            complaint: string;
            /**
             * Format: uuid
             * @description The job it was said on.
             */
            job_id: string;
            /**
             * Format: int32
             * @description That job's number.
             */
            job_number: number;
            /**
             * Format: int64
             * @description The message's number in its thread.
             */
            seq: number;
            /** @description The words around what was found, in pieces. */
            snippet: components["schemas"]["SnippetPiece"][];
            /** @description The unit. */
            unit_label: string;
        };
        /** @description A site of theirs. */
        FoundSite: {
            /** @description Street and number. */
            address: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Town. */
            town: string;
            /** @description Its units. */
            units: components["schemas"]["FoundUnit"][];
        };
        /** @description How often calls turned out to be one thing. */
        FoundTurned: {
            /**
             * Format: int32
             * @description Calls where a bench confirmed it.
             */
            bench_confirmed: number;
            /** @description On which circuit. */
            circuit: string;
            /** @description Whether the circuit lists it; what it does not list moves no odds. */
            listed: boolean;
            /**
             * Format: int32
             * @description Calls where something was replaced and nobody looked.
             */
            only_replaced: number;
            /**
             * Format: int32
             * @description Calls where it ran afterwards.
             */
            run_test: number;
            /** @description What, in words. */
            says: string;
        };
        /** @description A unit of theirs. */
        FoundUnit: {
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description What people call it. */
            label: string;
            /** @description Maker and model; may be empty. */
            model: string;
        };
        /**
         * @description What a call was.
         * @enum {string}
         */
        FoundWas: "nothing_wrong" | "fault" | "not_listed";
        /** @description One word on a job. */
        FoundWord: {
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description Who says so. */
            by: components["schemas"]["PersonRef"];
            /** @description How that is known. */
            how: components["schemas"]["FoundHow"];
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Its fault mode. */
            mode?: string | null;
            /** @description Anything more. */
            note: string;
            /** @description A fault's part. */
            part?: string | null;
            /** @description The same in words. */
            says: string;
            /** @description What it was. */
            was: components["schemas"]["FoundWas"];
        };
        /** @description The case as its guest sees it: no customer, no site. */
        GuestCaseShape: {
            /** @description What was complained of. */
            complaint: string;
            /** @description Readings and observations; the verdict is with the request, once it is shown. */
            evidence: components["schemas"]["Evidence"];
            /**
             * Format: date-time
             * @description When it ends.
             */
            expires_at: string;
            /** @description Who made the link. */
            invited_by: string;
            /**
             * Format: uuid
             * @description The job, whose thread the guest may talk in once they have read.
             */
            job_id: string;
            /** @description Who the guest is, as stated. */
            me: components["schemas"]["GuestStated"];
            /**
             * Format: uuid
             * @description The person that stands for the guest.
             */
            person_id: string;
            /** @description The request; the claim is null until the guest's read is in. */
            request: components["schemas"]["Request"];
            /** @description The shop. */
            shop_name: string;
            /** @description The unit. */
            unit: components["schemas"]["GuestUnit"];
        };
        /** @description The code that came by mail. */
        GuestCode: {
            /** @description Six digits. */
            code: string;
            /** @description The link's token. */
            token: string;
        };
        /** @description That a code is on its way. */
        GuestCodeSent: {
            /**
             * Format: int64
             * @description How long it is good, in minutes.
             */
            good_for_min: number;
            /**
             * Format: int32
             * @description Wrong tries that it takes.
             */
            tries: number;
        };
        /** @description What a guest says of themselves, and where the code is to go. */
        GuestDetails: {
            /** @description E-mail address. */
            email: string;
            /** @description Licence number. */
            licence: string;
            /** @description Name, as it will stand beside a signature. */
            name: string;
            /** @description The link's token. */
            token: string;
        };
        /** @description What a link is for. */
        GuestInvitation: {
            /**
             * Format: date-time
             * @description When it ends.
             */
            expires_at: string;
            /** @description Who made the link. */
            invited_by: string;
            /** @description Whether somebody came by it already; then only the same address comes again. */
            opened: boolean;
            /** @description The shop. */
            shop_name: string;
        };
        /** @description A link. */
        GuestLink: {
            /**
             * Format: date-time
             * @description When it was made.
             */
            created_at: string;
            /**
             * Format: date-time
             * @description When it ends by itself.
             */
            expires_at: string;
            guest?: components["schemas"]["GuestStated"] | null;
            /**
             * Format: uuid
             * @description Its id.
             */
            id: string;
            /** @description Who made it. */
            made_by: components["schemas"]["PersonRef"];
            /** @description For the shop's own list. */
            meant_for: string;
            /**
             * Format: date-time
             * @description When it was ended.
             */
            revoked_at?: string | null;
            /** @description Whether it can be used now. */
            stands: boolean;
        };
        /** @description A link that was just made. */
        GuestLinkMade: components["schemas"]["GuestLink"] & {
            /**
             * @description Goes into the address: `/guest#…`. Only its hash is kept, so it is null in the answer to
             *     a repeat.
             */
            token?: string | null;
        };
        /** @description What a guest reader said of themselves. */
        GuestStated: {
            /** @description Their e-mail address, verified by a code. */
            email: string;
            /** @description Licence number, as stated; nobody has checked it. */
            licence: string;
            /** @description Name, as stated. */
            name: string;
        };
        /** @description A link's token. */
        GuestToken: {
            /** @description What came after `#` in the address. */
            token: string;
        };
        /** @description The unit, as far as a guest needs it. */
        GuestUnit: {
            /** @description Label. */
            label: string;
            /** @description Maker. */
            maker: string;
            /** @description Model. */
            model: string;
        };
        /** @description The body that hands a request on. */
        HandOn: {
            /** @description Why. The next reader sees it once their own read is in. */
            note?: string;
            /**
             * Format: uuid
             * @description Who is asked first; whoever is best placed where absent.
             */
            to?: string | null;
        };
        /** @description The service's state of health. */
        Health: {
            /** @description "well" when the database answers. */
            state: string;
            /** @description The service's version. */
            version: string;
        };
        /**
         * @description Why something is not shown.
         * @enum {string}
         */
        Hidden: "blind_first";
        /** @description A job's latest holdover. */
        Holdover: {
            /**
             * Format: date-time
             * @description When it ended.
             */
            ended_at?: string | null;
            /** @description returned, worse, taken_back, closed or deferred_again. */
            ended_why?: string | null;
            /**
             * Format: uuid
             * @description Its id.
             */
            id: string;
            /**
             * Format: date-time
             * @description When it was made.
             */
            made_at: string;
            made_by?: components["schemas"]["PersonRef"] | null;
            /** @description What was done, in words. */
            measures: string[];
            /** @description Anything more. */
            note: string;
            /** @description What to read out on the telephone. */
            read_out: string;
            /** @description mail or telephone. */
            told: string;
            /**
             * Format: date-time
             * @description Until when.
             */
            until: string;
            /** @description Why. */
            why: string;
        };
        /** @description The body that defers a job. */
        HoldoverAdd: {
            /** @description Questions answered with yes. */
            checked?: string[];
            /** @description What was done: ids of measures. */
            measures?: string[];
            /** @description Anything more, told to the customer. */
            note?: string;
            /** @description Why; the two most urgent classes need one of a manager. */
            reason?: string;
            /**
             * Format: date-time
             * @description Until when; the next working day where absent.
             */
            until?: string | null;
            /**
             * Format: int32
             * @description The job's version that was looked at.
             */
            version: number;
        };
        /** @description What can be done to make a site safe, and what must be asked before a job is deferred. */
        HoldoverAsks: {
            /** @description Questions for the job's class whatever is done. */
            checks: components["schemas"]["HoldoverCheck"][];
            /** @description Whether the customer has an address for mail. */
            customer_has_mail: boolean;
            /** @description Measures, as they are offered. */
            measures: components["schemas"]["Measure"][];
            /** @description Whether only a manager may defer it, with a reason. */
            needs_manager: boolean;
            /**
             * Format: date-time
             * @description When the shop opens next: what "the next working day" means now.
             */
            next_open: string;
        };
        /** @description A question that must be answered with yes. */
        HoldoverCheck: {
            /** @description The question. */
            asks: string;
            /** @description As sent back. */
            id: string;
        };
        /** @description A holiday as the shop keeps it. */
        Holiday: {
            /**
             * Format: date
             * @description The day.
             */
            date: string;
            /** @description Its name. */
            name: string;
        };
        /** @description What was asked when a call was taken, and the class that it made. */
        Intake: {
            /** @description What was answered. */
            answers: components["schemas"]["CallAnswers"];
            /** @description Why, in a sentence. */
            because: string;
            /** @description The class that the answers make. */
            class: components["schemas"]["Urgency"];
            /** @description Why the job has another class than that; null while it has that one. */
            overruled?: string | null;
        };
        /** @description What the page for taking a call needs. */
        IntakePage: {
            /** @description Why, in a sentence. */
            because: string;
            /** @description The class that the answers make. */
            class: components["schemas"]["Urgency"];
            /** @description What to say at once, before anything else is asked; mostly nothing. */
            dangers: components["schemas"]["DangerShape"][];
            /** @description Where the minutes come from. */
            minutes_source: string;
            /** @description The questions, in the order in which they are asked. */
            questions: components["schemas"]["QuestionShape"][];
            /** @description Where the words of safety come from. */
            safety_source: string;
            /** @description Kinds of work, with the minutes that each usually takes. */
            works: components["schemas"]["WorkUsual"][];
        };
        /** @description A job. */
        Job: {
            assigned_to?: components["schemas"]["PersonRef"] | null;
            /**
             * Format: date-time
             * @description When it last changed.
             */
            changed_at: string;
            /** @description What the customer says is wrong. */
            complaint: string;
            /**
             * Format: date-time
             * @description When it was taken.
             */
            created_at: string;
            /**
             * Format: int64
             * @description Counts changes of evidence.
             */
            evidence_revision: number;
            /**
             * Format: int32
             * @description Minutes it is expected to take on site.
             */
            expected_min: number;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            intake?: components["schemas"]["Intake"] | null;
            /**
             * Format: date-time
             * @description Nobody need go before this.
             */
            not_before?: string | null;
            /**
             * Format: int32
             * @description Counted per shop.
             */
            number: number;
            /**
             * Format: int32
             * @description Outdoor temperature when the call came, degrees Fahrenheit.
             */
            outdoor_f?: number | null;
            /**
             * Format: date-time
             * @description Planned to.
             */
            planned_end?: string | null;
            /**
             * Format: date-time
             * @description Planned from: when whoever has it is meant to be there.
             */
            planned_start?: string | null;
            /** @description What whoever goes must be qualified for. */
            required: components["schemas"]["Qualification"][];
            /** @description Where it stands. */
            state: components["schemas"]["JobState"];
            /**
             * Format: uuid
             * @description The unit.
             */
            unit_id: string;
            /** @description How long it can wait. */
            urgency: components["schemas"]["Urgency"];
            /**
             * Format: int32
             * @description Counts changes of the job itself; send it with the next change.
             */
            version: number;
            /** @description Whether somebody there cannot be without heat or cooling. */
            vulnerable: boolean;
            /**
             * Format: date-time
             * @description Promised to.
             */
            window_end?: string | null;
            /**
             * Format: date-time
             * @description Promised from.
             */
            window_start?: string | null;
            /** @description What kind of work it is. */
            work: components["schemas"]["Work"];
        };
        /** @description A new job. */
        JobAdd: {
            answers?: components["schemas"]["CallAnswers"] | null;
            /**
             * Format: uuid
             * @description Who is to go.
             */
            assigned_to?: string | null;
            /** @description Why it is given to somebody against whom something speaks; needed only then. */
            because?: string | null;
            /** @description What the customer says is wrong. */
            complaint: string;
            /**
             * Format: int32
             * @description Minutes on site, 5 to 2880; what that kind of work usually takes where absent.
             */
            expected_min?: number | null;
            /**
             * Format: date-time
             * @description Nobody need go before this.
             */
            not_before?: string | null;
            /**
             * Format: int32
             * @description Outdoor temperature, degrees Fahrenheit, −80 to 140.
             */
            outdoor_f?: number | null;
            /**
             * Format: date-time
             * @description Planned to.
             */
            planned_end?: string | null;
            /**
             * Format: date-time
             * @description Planned from, for whoever is to go; the promised window where both ends are absent.
             */
            planned_start?: string | null;
            /** @description What whoever goes must be qualified for. */
            required?: components["schemas"]["Qualification"][];
            /**
             * Format: uuid
             * @description The unit.
             */
            unit_id: string;
            urgency?: components["schemas"]["Urgency"] | null;
            /** @description Why it has another class than the answers make; needed only then. */
            urgency_because?: string | null;
            /** @description Whether somebody there cannot be without heat or cooling; true where the answers say so. */
            vulnerable?: boolean;
            /**
             * Format: date-time
             * @description Promised to.
             */
            window_end?: string | null;
            /**
             * Format: date-time
             * @description Promised from; needs an end.
             */
            window_start?: string | null;
            /** @description What kind of work it is. */
            work?: components["schemas"]["Work"];
        };
        /** @description The body that says no to an urgent job. */
        JobDecline: {
            /** @description Why, 5 characters or more. */
            reason: string;
        };
        /** @description Something that happened to a job. */
        JobEvent: {
            actor?: components["schemas"]["PersonRef"] | null;
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description What was known, as on the record. */
            body: unknown;
            /** @description "job_taken", "job_changed", "job_assigned", or what another noun did to the job. */
            kind: string;
            /** @description What happened, a sentence each, with names and the shop's own clock. */
            says: string[];
        };
        /** @description What was said on a job. */
        JobFound: {
            /** @description Newest first; the first counts. */
            words: components["schemas"]["FoundWord"][];
        };
        /** @description What to change of a job; what is absent stays. */
        JobPatch: {
            answers?: components["schemas"]["CallAnswers"] | null;
            /** @description What the customer says is wrong. */
            complaint?: string | null;
            /**
             * Format: int32
             * @description Minutes on site, 5 to 2880.
             */
            expected_min?: number | null;
            /**
             * Format: date-time
             * @description Nobody need go before this.
             */
            not_before?: string | null;
            /**
             * Format: int32
             * @description Outdoor temperature, degrees Fahrenheit, −80 to 140.
             */
            outdoor_f?: number | null;
            /** @description What whoever goes must be qualified for; the whole list. */
            required?: components["schemas"]["Qualification"][] | null;
            state?: components["schemas"]["JobState"] | null;
            urgency?: components["schemas"]["Urgency"] | null;
            /** @description Why it has another class than the answers make; needed only then. */
            urgency_because?: string | null;
            /**
             * Format: int32
             * @description The version that was looked at.
             */
            version: number;
            /** @description Whether somebody there cannot be without heat or cooling. */
            vulnerable?: boolean | null;
            /**
             * Format: date-time
             * @description Promised to.
             */
            window_end?: string | null;
            /**
             * Format: date-time
             * @description Promised from; change both ends together, null for both clears.
             */
            window_start?: string | null;
            work?: components["schemas"]["Work"] | null;
        };
        /**
         * @description Where a job stands.
         * @enum {string}
         */
        JobState: "open" | "assigned" | "on_site" | "waiting" | "done" | "cancelled";
        /** @description A job with all that bears on it. */
        JobWhole: components["schemas"]["Job"] & {
            /** @description Whose it is. */
            customer: components["schemas"]["Customer"];
            request?: components["schemas"]["RequestSummary"] | null;
            /** @description Where it stands. */
            site: components["schemas"]["Site"];
            /** @description The unit. */
            unit: components["schemas"]["UnitHeld"];
        };
        /** @description A photo as kept: upright, smaller, and without anything but its pixels. */
        KeptPhoto: {
            /**
             * Format: int32
             * @description Pixels down.
             */
            height_px: number;
            /**
             * Format: uuid
             * @description Its id, for a message of kind `photo` and for fetching it.
             */
            id: string;
            /**
             * Format: int32
             * @description Pixels across.
             */
            width_px: number;
        };
        /** @description Why the shipped steps of a kind are as they are. */
        KindBecause: {
            /** @description second_read, urgent_job or approval. */
            kind: string;
            /** @description In words. */
            says: string;
        };
        /** @description A ladder: what was done because nobody answered, and what comes next. */
        Ladder: {
            /** @description second_read, urgent_job or approval. */
            kind: string;
            /**
             * Format: date-time
             * @description When the next step fires; null when none will.
             */
            next_at?: string | null;
            /** @description What the next step does; null when none will. */
            next_words?: string | null;
            /** @description Its steps, lowest first. */
            rungs: components["schemas"]["Rung"][];
            /**
             * Format: int32
             * @description By which version of the shop's ladders; 0 for what ships.
             */
            setting_version: number;
            /**
             * Format: date-time
             * @description When it started.
             */
            started_at: string;
            /**
             * Format: date-time
             * @description When it stopped, because somebody accepted or nobody is wanted any more.
             */
            stopped_at?: string | null;
            /** @description Why. */
            stopped_why?: string | null;
            /** @description Whether it climbs by the steps for days on which the shop is closed. */
            weekend: boolean;
        };
        /** @description The shop's ladders in force. */
        LadderSetting: {
            /** @description Why what ships is as it is. */
            because: components["schemas"]["KindBecause"][];
            /** @description The ladders. */
            ladders: components["schemas"]["ShopLadders"];
            /** @description What ships, to go back to. */
            shipped: components["schemas"]["ShopLadders"];
            /**
             * Format: int32
             * @description Which version; 0 for what ships. Send it with the next change.
             */
            version: number;
            /** @description The shop's versions, newest first. */
            versions: components["schemas"]["LadderVersion"][];
            /** @description The shop's zone. */
            zone: string;
        };
        /** @description One step of a ladder, as the shop has it. */
        LadderStep: {
            /**
             * Format: int32
             * @description Minutes after the start, 0 to 10080.
             */
            after_min: number;
            /** @description How. */
            how: components["schemas"]["StepHow"];
            /** @description Whom it reaches, one to six groups. */
            who: components["schemas"]["StepWho"][];
        };
        /** @description The steps of one kind. */
        LadderSteps: {
            /** @description On working days, one to eight steps, each later than the one before. */
            week: components["schemas"]["LadderStep"][];
            /** @description On days the shop is closed; null for the same as in the week. */
            weekend?: components["schemas"]["LadderStep"][] | null;
        };
        /** @description What would happen if nobody ever answered. */
        LadderStory: {
            /** @description Whether quiet hours would be minded. */
            minds_quiet: boolean;
            /** @description Whether a ladder would start at all: a job of this class may wait. */
            starts: boolean;
            /** @description What happens, in order. */
            steps: components["schemas"]["LadderStoryStep"][];
            /** @description Whether it would climb by the steps for days on which the shop is closed. */
            weekend: boolean;
        };
        /** @description One thing that would happen. */
        LadderStoryStep: {
            /** @description Who would be asked. */
            asked: components["schemas"]["PersonRef"][];
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /**
             * Format: date-time
             * @description Until when the step would wait; null where it reaches somebody, or nobody is left.
             */
            held_until?: string | null;
            /** @description Who would be left alone. */
            quiet: components["schemas"]["LeftAlone"][];
            /** @description Which step, from 0. */
            rung: number;
            /** @description Who would be told. */
            told: components["schemas"]["PersonRef"][];
            /** @description The step in words. */
            words: string;
        };
        /** @description One version that the shop made. */
        LadderVersion: {
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description Who made it. */
            made_by: components["schemas"]["PersonRef"];
            /**
             * Format: int32
             * @description Which.
             */
            version: number;
            /** @description Why. */
            why: string;
        };
        /** @description The body that asks what would happen. */
        LaddersAsk: {
            /**
             * Format: date-time
             * @description When it would start.
             */
            at: string;
            /** @description second_read, urgent_job or approval. */
            kind: string;
            ladders?: components["schemas"]["ShopLadders"] | null;
            /** @description What the job or the part would ask of people. */
            required?: components["schemas"]["Qualification"][];
            /** @description How urgent the job would be. */
            urgency: components["schemas"]["Urgency"];
        };
        /** @description The body that saves ladders. */
        LaddersPut: {
            /** @description The ladders, all of them. */
            ladders: components["schemas"]["ShopLadders"];
            /**
             * Format: int32
             * @description The version that was looked at.
             */
            version: number;
            /** @description Why they change; may be empty. */
            why?: string;
        };
        /** @description Leave that somebody asked for. */
        Leave: {
            answer?: components["schemas"]["LeaveAnswer"] | null;
            /** @description In a few words. */
            answer_words: string;
            /**
             * Format: date-time
             * @description When they asked.
             */
            asked_at: string;
            /**
             * Format: date-time
             * @description Until when.
             */
            end: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Duties of theirs in that time, which granting takes out. */
            meets: components["schemas"]["RotaEntry"][];
            /** @description Who. */
            person: components["schemas"]["PersonRef"];
            /** @description Why; often empty. */
            reason: string;
            /**
             * Format: date-time
             * @description From when.
             */
            start: string;
        };
        /** @description Leave that is asked for. */
        LeaveAdd: {
            /**
             * Format: date-time
             * @description Until when.
             */
            end: string;
            /** @description Why; may be empty. */
            reason?: string;
            /**
             * Format: date-time
             * @description From when.
             */
            start: string;
        };
        /**
         * @description What was answered.
         * @enum {string}
         */
        LeaveAnswer: "granted" | "refused" | "withdrawn";
        /** @description Somebody who has quiet hours. */
        LeftAlone: {
            /** @description Who. */
            person: components["schemas"]["PersonRef"];
            /**
             * Format: date-time
             * @description Until when.
             */
            until: string;
        };
        /** @description A mail that was sent, or kept for want of a mail server. */
        Mail: {
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Whether it left the machine. */
            sent: boolean;
            /**
             * Format: date-time
             * @description When it was sent or kept.
             */
            sent_at: string;
            /** @description Subject. */
            subject: string;
            /** @description The template. */
            template: string;
            /** @description Text. */
            text: string;
            /** @description To which address. */
            to: string;
            /** @description To whom, where it is a person of the shop. */
            to_name?: string | null;
        };
        /** @description Whoever is signed in, with their shop. */
        Me: components["schemas"]["Person"] & {
            /** @description Their shop. */
            shop: components["schemas"]["Shop"];
        };
        /** @description One measure. */
        Measure: {
            /** @description What they must mind; null where nothing. */
            caution?: string | null;
            /** @description Questions that it adds. */
            checks: components["schemas"]["HoldoverCheck"][];
            /** @description As sent back. */
            id: string;
            /** @description Where its numbers come from. */
            source?: string | null;
            /** @description As the customer is told. */
            words: string;
        };
        /** @description Somebody who wrote in the thread or was shown it. */
        MemberShape: {
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Name. */
            name: string;
            /**
             * Format: int64
             * @description The last message number they have read.
             */
            seen_seq: number;
        };
        /** @description What a message says; which fields are there depends on its kind. */
        MessageBodyShape: {
            ask?: components["schemas"]["Ask"] | null;
            /**
             * Format: uuid
             * @description The message whose ask an event answers.
             */
            ask_id?: string | null;
            /** @description What happened. */
            event?: string | null;
            /**
             * Format: int32
             * @description Its pixels down.
             */
            height_px?: number | null;
            /** @description People named in it; those who are not looking get a mail. */
            mentions?: string[];
            /**
             * Format: uuid
             * @description The photo.
             */
            photo_id?: string | null;
            /**
             * Format: uuid
             * @description The quoted reading.
             */
            reading_id?: string | null;
            /** @description The quoted reading's label on its job. */
            reading_label?: string | null;
            /** @description The words. */
            text?: string | null;
            /**
             * Format: int32
             * @description Its pixels across. The service knows: a client's is not looked at.
             */
            width_px?: number | null;
        };
        /**
         * @description What kind of message.
         * @enum {string}
         */
        MessageKindShape: "text" | "reading_card" | "event" | "photo" | "ask";
        /** @description A message. */
        MessageShape: {
            /**
             * Format: date-time
             * @description When it was stored.
             */
            at: string;
            author?: components["schemas"]["PersonRef"] | null;
            /** @description What it says. */
            body: components["schemas"]["MessageBodyShape"];
            /**
             * Format: uuid
             * @description Its own id.
             */
            id: string;
            /**
             * Format: uuid
             * @description The job that the thread is about.
             */
            job_id: string;
            /**
             * Format: uuid
             * @description The key its writer's client made; null for the service.
             */
            key?: string | null;
            /** @description What kind of message. */
            kind: components["schemas"]["MessageKindShape"];
            /**
             * Format: int64
             * @description Its number in the thread, from 1 without gaps.
             */
            seq: number;
            /**
             * Format: uuid
             * @description The thread it is in.
             */
            thread_id: string;
        };
        /** @description A change: everything is said anew. */
        MeterChange: {
            /** @description The meter as it is. */
            meter: components["schemas"]["MeterPut"];
            /** @description Whether it is not used any more. */
            retired?: boolean;
            /**
             * Format: int32
             * @description The version that was looked at.
             */
            version: number;
        };
        /** @description A meter. */
        MeterHeld: {
            /**
             * Format: date
             * @description When it was last calibrated.
             */
            calibrated_on?: string | null;
            /**
             * Format: int32
             * @description For how many months that counts.
             */
            calibration_months?: number | null;
            /**
             * Format: date
             * @description The day on which its calibration ends.
             */
            due_on?: string | null;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            keeper?: components["schemas"]["PersonRef"] | null;
            /** @description What people call it. */
            label: string;
            /**
             * Format: double
             * @description Resistance of its leads, Ω.
             */
            lead_ohm?: number | null;
            /** @description Whether it measures volts at low impedance. */
            low_impedance?: boolean | null;
            /** @description Maker. */
            maker: string;
            /** @description Model. */
            model: string;
            /** @description What it can tell. */
            ranges: components["schemas"]["MeterRange"][];
            /**
             * Format: date-time
             * @description Since when it is not used any more.
             */
            retired_at?: string | null;
            /** @description Serial number. */
            serial: string;
            /**
             * Format: int32
             * @description Counts changes; send it with the next one.
             */
            version: number;
        };
        /** @description A meter as people say it is. */
        MeterPut: {
            /**
             * Format: date
             * @description When it was last calibrated.
             */
            calibrated_on?: string | null;
            /**
             * Format: int32
             * @description For how many months that counts, 1 to 120.
             */
            calibration_months?: number | null;
            /**
             * Format: uuid
             * @description Whose van it is in.
             */
            keeper?: string | null;
            /** @description What people call it; no two in use have the same. */
            label: string;
            /**
             * Format: double
             * @description Resistance of its leads touched together, Ω, 0 to 10.
             */
            lead_ohm?: number | null;
            /** @description Whether it measures volts at low impedance. */
            low_impedance?: boolean | null;
            /** @description Maker. */
            maker?: string;
            /** @description Model. */
            model?: string;
            /** @description What it can tell, each quantity once. */
            ranges: components["schemas"]["MeterRange"][];
            /** @description Serial number. */
            serial?: string;
        };
        /** @description What a meter can tell of one quantity. */
        MeterRange: {
            /**
             * Format: double
             * @description Percent of reading, 0 to 20.
             */
            accuracy_pct: number;
            /**
             * Format: double
             * @description The highest value before "OL", base unit.
             */
            highest: number;
            quantity: components["schemas"]["Quantity"];
            /**
             * Format: double
             * @description The smallest step shown, base unit of the quantity: Ω, µF, V, A.
             */
            resolution: number;
        };
        /** @description The shop's meter of a reading. */
        MeterUsed: {
            /**
             * Format: date
             * @description The day its calibration ended, as known when the reading was taken.
             */
            due_on?: string | null;
            /**
             * Format: uuid
             * @description Which.
             */
            id: string;
            /** @description Whether that day had passed. */
            overdue: boolean;
            /** @description Its serial number. */
            serial: string;
        };
        /** @description The body of a countersignature. */
        NewCountersignature: {
            /** @description The evidence, as the signer saw it. */
            digest: string;
            /** @description In the signer's words. */
            note?: string;
        };
        /** @description A link to make. */
        NewGuestLink: {
            /**
             * Format: int64
             * @description How long it is good, in hours; 1 to 336.
             */
            hours: number;
            /** @description Where the service mails it to; the caller passes it on where absent. */
            mail_to?: string | null;
            /** @description For the shop's own list: whom it is meant for. */
            meant_for?: string;
        };
        /** @description How far the caller has read. */
        NewMark: {
            /**
             * Format: int64
             * @description The last message number read.
             */
            seen_seq: number;
        };
        /** @description A message to be stored. */
        NewMessage: {
            /** @description What it says. */
            body: components["schemas"]["MessageBodyShape"];
            /**
             * Format: uuid
             * @description Made by the client; a repeat of it is the same message, here and on the live stream.
             */
            key: string;
            /** @description Text or a reading card. */
            kind: components["schemas"]["MessageKindShape"];
        };
        /** @description A photo to be kept. */
        NewPhoto: {
            /** @description A JPEG, PNG or WebP file in base64. */
            content: string;
        };
        /** @description The body of a blind read. */
        NewRead: {
            /**
             * @description The component that has failed, "nothing_wrong" or "unknown_fault"; may be left out by
             *     who cannot tell.
             */
            component?: string | null;
            /** @description Its fault mode. */
            mode?: string | null;
            /** @description In the reader's words. */
            note?: string;
            /** @description The part of it. */
            part?: string | null;
            /** @description How sure. */
            sure: components["schemas"]["SureShape"];
        };
        /** @description A reading to keep. Its label is given when it is kept. */
        NewReading: {
            /** @description The point the first probe touched. */
            from: string;
            /** @description The connectors that were lifted at the time. */
            lifted?: string[];
            meter?: components["schemas"]["Meter"];
            /**
             * Format: uuid
             * @description One of the shop's meters, whose record then says what it can tell; of `meter` only
             *     `zeroed` counts beside it.
             */
            meter_id?: string | null;
            /**
             * Format: double
             * @description Temperature of the part, °C.
             */
            part_temp_c?: number | null;
            power: components["schemas"]["Power"];
            quantity: components["schemas"]["Quantity"];
            shown: components["schemas"]["Shown"];
            /** @description Under power: which of the circuit's states it was in; its first where absent. */
            state?: string | null;
            /**
             * Format: double
             * @description Minutes since the motor last ran.
             */
            stopped_min?: number | null;
            /** @description The point the second probe touched. */
            to: string;
        };
        /** @description The body that makes a request. */
        NewRequest: {
            /** @description What is claimed to have failed. */
            claim: components["schemas"]["Claim"];
            /**
             * Format: int64
             * @description What replacing it is estimated to cost, in cents of the shop's currency.
             */
            estimated_cost_cents: number;
            /** @description In the requester's words. */
            note?: string;
            /** @description Whether to submit it at once; a draft otherwise. */
            submit: boolean;
        };
        /** @description The body of a move that carries nothing; it may be left out. */
        Nothing: Record<string, never>;
        /**
         * @description What happens to a change of the rota that breaks the rest rule.
         * @enum {string}
         */
        OnBreak: "warn" | "refuse";
        /** @description Somebody and what they are now. */
        OnDuty: {
            /** @description Whether they can be called now. */
            can_be_called: boolean;
            /** @description What. */
            kind: components["schemas"]["DutyKind"];
            /** @description Who. */
            person: components["schemas"]["PersonRef"];
            /**
             * Format: date-time
             * @description Since when without a break.
             */
            since: string;
            /**
             * Format: date-time
             * @description Until when without a break.
             */
            until: string;
        };
        /** @description A stretch of opening in a day, by the clock on the shop's wall. */
        OpenHours: {
            /**
             * Format: int32
             * @description Minutes after midnight, 0 to 1439.
             */
            from_min: number;
            /**
             * Format: int32
             * @description Minutes after midnight, above `from_min`, at most 1440.
             */
            to_min: number;
        };
        /** @description What is in the way of a planned time, and the next one that is free. */
        Overlap: {
            /**
             * Format: date-time
             * @description That start and the length that was asked.
             */
            free_end: string;
            /**
             * Format: date-time
             * @description The next start with room for what was asked.
             */
            free_start: string;
            /**
             * Format: uuid
             * @description The job that is in the way.
             */
            job_id: string;
            /**
             * Format: int32
             * @description Its number.
             */
            number: number;
            /**
             * Format: date-time
             * @description Planned to.
             */
            planned_end: string;
            /**
             * Format: date-time
             * @description Planned from.
             */
            planned_start: string;
        };
        /** @description An override of isolation. */
        Override: {
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description The manager. */
            by: components["schemas"]["PersonRef"];
            /** @description Why. */
            reason: string;
            /** @description Whether it was given on other evidence than the present, and so counts for nothing. */
            void: boolean;
        };
        /** @description The body that overturns a request. */
        Overturn: {
            /** @description What was found instead. */
            found: string;
            /** @description Why the mind changed. */
            reason?: string;
        };
        /** @description One thing owed. */
        OwedStep: {
            /** @description Whether it is given, on the present evidence. */
            done: boolean;
            /** @description evidence, second_read or approval. */
            step: string;
            /** @description Who can give it now. */
            who: components["schemas"]["PersonRef"][];
            /** @description In a sentence. */
            words: string;
        };
        /** @description A day that the shop itself says something about. */
        OwnDay: {
            /**
             * Format: date
             * @description The day.
             */
            date: string;
            /** @description What it is called. */
            name: string;
            /** @description Whether the shop is open on it as on any such weekday; otherwise it is a holiday. */
            open: boolean;
        };
        /** @description What a pattern did, or would do. */
        PatternApplied: {
            /** @description Put in. */
            added: components["schemas"]["RotaEntry"][];
            /** @description Left out. */
            left_out: components["schemas"]["PatternLeftOut"][];
            /** @description Taken out for it. */
            removed: components["schemas"]["RotaEntry"][];
            /** @description What it breaks. */
            warnings: components["schemas"]["RotaWarning"][];
        };
        /** @description A week's duties, repeated. Give either `slots` or `handover`. */
        PatternApply: {
            /** @description Whether it is only tried: nothing is changed, and what would break is in the warnings. */
            dry_run?: boolean;
            /**
             * Format: date
             * @description A day of the first week.
             */
            first_week: string;
            handover?: components["schemas"]["PatternHandover"] | null;
            /** @description What they are; not leave. */
            kind: components["schemas"]["DutyKind"];
            /** @description What happens where somebody already has an entry. */
            meets?: components["schemas"]["PatternMeets"];
            /** @description Whether slots that begin on a holiday are left out. */
            not_on_holidays?: boolean;
            /** @description Who, in order. */
            people: string[];
            /** @description These hours of the week. */
            slots?: components["schemas"]["PatternSlot"][] | null;
            /** @description How they share it. */
            turn: components["schemas"]["PatternTurn"];
            /**
             * Format: int32
             * @description How many weeks, 1 to 26.
             */
            weeks: number;
        };
        /** @description The time of the week at which it passes from one person to the next. */
        PatternHandover: {
            /**
             * Format: int32
             * @description Minutes after midnight, 0 to 1439.
             */
            minute: number;
            /**
             * Format: int32
             * @description 0 is Monday, 6 Sunday.
             */
            weekday: number;
        };
        /** @description An entry that was left out, and what stands there. */
        PatternLeftOut: {
            /** @description Whose. */
            person: components["schemas"]["PersonRef"];
            /** @description When. */
            span: components["schemas"]["Span"];
            /** @description What stands there. */
            stands: components["schemas"]["RotaEntry"];
        };
        /**
         * @description What happens where somebody already has an entry.
         * @enum {string}
         */
        PatternMeets: "refuse" | "keep" | "replace";
        /** @description A stretch of the week, by the shop's wall. */
        PatternSlot: {
            /**
             * Format: int32
             * @description Minutes after midnight, 0 to 1439.
             */
            from_min: number;
            /**
             * Format: int32
             * @description Minutes after midnight, 0 to 1440; not after `from_min` means on the next day.
             */
            to_min: number;
            /**
             * Format: int32
             * @description The day it begins on: 0 is Monday, 6 Sunday.
             */
            weekday: number;
        };
        /**
         * @description How the people of a pattern share it.
         * @enum {string}
         */
        PatternTurn: "together" | "weekly";
        /** @description A person of the shop. */
        Person: {
            /** @description Whether they may sign in and be asked. */
            active: boolean;
            /** @description Address for signing in and for mail. */
            email: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Licence number. */
            licence?: string | null;
            /** @description Name. */
            name: string;
            /** @description Telephone. */
            phone?: string | null;
            /** @description Qualifications. */
            qualifications: components["schemas"]["Qualification"][];
            /** @description Roles; they add up. */
            roles: components["schemas"]["Role"][];
        };
        /** @description A new person. */
        PersonAdd: {
            /** @description Address for signing in and for mail. */
            email: string;
            /** @description Licence number. */
            licence?: string | null;
            /** @description Name. */
            name: string;
            /** @description First password, at least ten characters. */
            password: string;
            /** @description Telephone. */
            phone?: string | null;
            /** @description Qualifications. */
            qualifications?: components["schemas"]["Qualification"][];
            /** @description Roles; at least one. */
            roles: components["schemas"]["Role"][];
        };
        /** @description What a quarter holds for somebody. */
        PersonBurden: {
            /** @description What of the rest rule is broken in the coming week, each with what would be right. */
            broken: string[];
            /**
             * Format: int32
             * @description Days of the quarter on which they are not on leave.
             */
            days_available: number;
            /** @description What they have. */
            has: components["schemas"]["DutyLoad"];
            /** @description Who. */
            person: components["schemas"]["PersonRef"];
            rest?: components["schemas"]["RestMargin"] | null;
            /** @description What they would have if all was shared by days available. */
            share: components["schemas"]["DutyLoad"];
        };
        /** @description What to change of a person; what is absent stays, null clears. */
        PersonPatch: {
            /** @description Whether they may sign in and be asked; taking it away ends their sessions. */
            active?: boolean | null;
            /** @description Licence number. */
            licence?: string | null;
            /** @description Name. */
            name?: string | null;
            /** @description A new password; ends the person's other sessions. */
            password?: string | null;
            /** @description Telephone. */
            phone?: string | null;
            /** @description Qualifications. */
            qualifications?: components["schemas"]["Qualification"][] | null;
            /** @description Roles; at least one. */
            roles?: components["schemas"]["Role"][] | null;
        };
        /** @description Whose quiet hours hold for somebody. */
        PersonQuiet: {
            hours?: components["schemas"]["QuietHours"] | null;
            /** @description Whether they are their own; the shop's otherwise. */
            own: boolean;
            /** @description IANA zone of their clock. */
            zone: string;
        };
        /** @description The body that changes somebody's quiet hours. */
        PersonQuietPut: {
            hours?: components["schemas"]["QuietHours"] | null;
            /** @description Their own; false for the shop's. */
            own: boolean;
            /** @description IANA zone of their clock; needed for their own. */
            zone?: string | null;
        };
        /** @description A person, as named beside what they did. */
        PersonRef: {
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Name. */
            name: string;
        };
        /** @description Whether proposals leave a job where it is. */
        PinPut: {
            /** @description Whether they do. */
            pinned: boolean;
        };
        /** @description A proposal. */
        Plan: {
            /** @description The plan. */
            after: components["schemas"]["PlanTotals"];
            /**
             * Format: date-time
             * @description When.
             */
            asked_at: string;
            /** @description Who asked. */
            asked_by_name: string;
            /** @description The board as it was. */
            before: components["schemas"]["PlanTotals"];
            /**
             * Format: date-time
             * @description From.
             */
            from: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description What is in it. */
            jobs: components["schemas"]["PlanJob"][];
            /** @description Whether that is the caller. */
            mine: boolean;
            /** @description What was guessed or left aside, in sentences. */
            notes: string[];
            /** @description Who is in it. */
            people: components["schemas"]["PlanPerson"][];
            /** @description Where it stands. */
            state: components["schemas"]["PlanState"];
            /** @description What was taken of it, oldest first. */
            takings: components["schemas"]["PlanTaking"][];
            /**
             * Format: date-time
             * @description Until.
             */
            until: string;
            /** @description Waits by class, most urgent first; classes without jobs are left out. */
            waits: components["schemas"]["PlanWait"][];
        };
        /** @description Asking for a plan. */
        PlanAsk: {
            /**
             * Format: date-time
             * @description From then on; what is past of it is left out.
             */
            from: string;
            /**
             * Format: int32
             * @description Seconds to search for, 1 to 30; 4 where absent.
             */
            seconds?: number | null;
            /**
             * Format: date-time
             * @description Until then, at most 96 hours later.
             */
            until: string;
        };
        /** @description A job in a plan. */
        PlanJob: {
            after?: components["schemas"]["PlanPlace"] | null;
            before?: components["schemas"]["PlanPlace"] | null;
            /** @description Whether somebody changed it since. */
            changed_since: boolean;
            /** @description Whether taking the plan over does anything to it. */
            changes: boolean;
            /** @description The customer. */
            customer_name: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description What happens to it. */
            kind: components["schemas"]["PlanKind"];
            /**
             * Format: int32
             * @description Counted per shop.
             */
            number: number;
            /** @description Whether it is pinned. */
            pinned: boolean;
            /** @description Whether it was taken over. */
            taken: boolean;
            /** @description The site's town. */
            town: string;
            /** @description How long it can wait. */
            urgency: components["schemas"]["Urgency"];
            /** @description Why, in a sentence. */
            why: string;
        };
        /**
         * @description What a plan does with a job.
         * @enum {string}
         */
        PlanKind: "held" | "stays" | "placed" | "moved" | "left_out";
        /** @description Somebody in a plan. */
        PlanPerson: {
            /** @description Minutes driven to jobs as the board is, and in the plan. */
            driven_min: number[];
            /** @description When they work. */
            duty: components["schemas"]["PlanSpan"][];
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Name. */
            name: string;
            /** @description Pauses that they take. */
            pauses: components["schemas"]["PlanSpan"][];
            quarter?: components["schemas"]["PlanQuarter"] | null;
            /** @description Minutes of work as the board is, and in the plan. */
            work_min: number[];
        };
        /** @description A person and a time. */
        PlanPlace: {
            /**
             * Format: int64
             * @description Driving to it, minutes.
             */
            drive_min: number;
            /**
             * Format: date-time
             * @description To.
             */
            end: string;
            /**
             * Format: uuid
             * @description Who.
             */
            person_id: string;
            /**
             * Format: date-time
             * @description From.
             */
            start: string;
        };
        /** @description What the quarter holds for somebody, beside an even share by the days they are there. */
        PlanQuarter: {
            /** @description With the plan. */
            after: components["schemas"]["PlanQuarterSide"];
            /** @description As the board is. */
            before: components["schemas"]["PlanQuarterSide"];
        };
        /** @description One side of it. */
        PlanQuarterSide: {
            /** @description What they have. */
            has: components["schemas"]["DutyLoad"];
            /**
             * Format: double
             * @description What they have as one number, hours: weekends, holidays, and 2 h for each night and call-out.
             */
            has_h: number;
            /** @description In words, "26 h of 20 h, 6 h above an even share". */
            says: string;
            /** @description What they would have if all was shared by days available. */
            share: components["schemas"]["DutyLoad"];
            /**
             * Format: double
             * @description The even share as one number, hours.
             */
            share_h: number;
        };
        /** @description A proposal in a list. */
        PlanRow: {
            /**
             * Format: date-time
             * @description When.
             */
            asked_at: string;
            /** @description Who asked. */
            asked_by_name: string;
            /**
             * Format: int64
             * @description How many jobs it changes.
             */
            changes: number;
            /**
             * Format: date-time
             * @description From.
             */
            from: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Where it stands: "open", "taken" or "dropped". */
            state: string;
            /**
             * Format: date-time
             * @description Until.
             */
            until: string;
        };
        /** @description A span. */
        PlanSpan: {
            /**
             * Format: date-time
             * @description To.
             */
            end: string;
            /**
             * Format: date-time
             * @description From.
             */
            start: string;
        };
        /**
         * @description Where a plan stands.
         * @enum {string}
         */
        PlanState: "open" | "taken" | "dropped";
        /** @description Taking a plan over. */
        PlanTake: {
            /** @description Only these jobs; all that are left where absent. */
            jobs?: string[] | null;
            /**
             * Format: date-time
             * @description When the one named job begins instead, where its own slot is no longer free.
             */
            start?: string | null;
        };
        /** @description Something that was taken over at once. */
        PlanTaking: {
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description The jobs. */
            jobs: string[];
            /**
             * Format: date-time
             * @description When.
             */
            taken_at: string;
            /** @description Who took it. */
            taken_by_name: string;
            /**
             * Format: date-time
             * @description When it was given back.
             */
            undone_at?: string | null;
        };
        /** @description What one side costs. */
        PlanTotals: {
            /**
             * @description Jobs that break a promise: outside their window, by somebody who may not, not to be
             *     reached in time, or in somebody's rest.
             */
            broken: number;
            /**
             * Format: int64
             * @description Minutes driven to jobs by all together.
             */
            driven_min: number;
            /** @description Jobs with a person and a time. */
            placed: number;
            /** @description Jobs without. */
            without: number;
        };
        /** @description How long a class waits. */
        PlanWait: {
            /** @description Which jobs. */
            class: string;
            /**
             * Format: int64
             * @description The longest in the plan.
             */
            longest_after_min?: number | null;
            /**
             * Format: int64
             * @description The longest as the board is, minutes; null where none has a time.
             */
            longest_before_min?: number | null;
            /**
             * Format: double
             * @description The mean in the plan.
             */
            mean_after_min?: number | null;
            /**
             * Format: double
             * @description The mean as the board is.
             */
            mean_before_min?: number | null;
        };
        /** @description Thresholds and rates. All are probabilities between 0 and 1. */
        Policy: {
            /**
             * Format: double
             * @description The condemned component must hold at least this share.
             * @default 0.95
             */
            isolated_min: number;
            /**
             * Format: double
             * @description No other component may hold more than this.
             * @default 0.02
             */
            rival_max: number;
            /**
             * Format: double
             * @description The condemned component must still hold this with any one reading left out.
             * @default 0.8
             */
            leave_one_out_min: number;
            /**
             * Format: double
             * @description The claimed fault is contradicted when its share falls to this or below.
             * @default 0.02
             */
            contradicted_max: number;
            /**
             * Format: double
             * @description Chance that a reading was taken wrongly in one way or another.
             * @default 0.02
             */
            mistake_rate: number;
            /**
             * Format: double
             * @description Chance that the fault is none of those the circuit lists.
             * @default 0.01
             */
            unknown_rate: number;
        };
        /** @description A refusal as it is sent (RFC 9457). */
        Problem: {
            /** @description What is wrong this time, and what would be right. */
            detail: string;
            /** @description Each value that cannot be accepted; absent where it is not about values. */
            errors?: components["schemas"]["ErrorAt"][];
            overlap?: components["schemas"]["Overlap"] | null;
            /**
             * Format: int32
             * @description The HTTP status.
             */
            status: number;
            /** @description A line that is the same for every problem of this type. */
            title: string;
            /** @description "/problems/<code>": also the address of a page about it. */
            type: string;
        };
        /**
         * @description What a person is qualified to judge.
         * @enum {string}
         */
        Qualification: "sealed_system" | "three_phase" | "combustion" | "electrical";
        /** @description A plain question. */
        QuestionShape: {
            /** @description Whether a yes is a danger. */
            danger: boolean;
            /** @description The name of the field that its answer goes into. */
            id: string;
            /** @description As it is asked. */
            words: string;
        };
        /** @description Quiet hours, in minutes after midnight. */
        QuietHours: {
            /**
             * Format: int32
             * @description First quiet minute.
             */
            from_min: number;
            /**
             * Format: int32
             * @description First minute that is not quiet any more; before `from_min` for hours over midnight.
             */
            to_min: number;
        };
        /** @description A blind read. */
        Read: {
            /** @description Whether it names the component claimed. */
            agrees: boolean;
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description The component that has failed in the reader's view; null when they cannot tell. */
            component?: string | null;
            guest?: components["schemas"]["GuestStated"] | null;
            /**
             * Format: uuid
             * @description Its id.
             */
            id: string;
            /** @description Its fault mode. */
            mode?: string | null;
            /** @description In the reader's words. */
            note: string;
            /** @description The part of it. */
            part?: string | null;
            /** @description Who read. */
            reader: components["schemas"]["PersonRef"];
            /**
             * Format: date-time
             * @description When the claim was shown to them.
             */
            revealed_at: string;
            /** @description Whether the reader had seen the job's thread, or this claim on earlier evidence, before. */
            seen_thread_before: boolean;
            /** @description sure, fairly_sure or cannot_tell. */
            sure: string;
            /** @description Whether it is on other evidence than the present. */
            void: boolean;
        };
        /** @description Somebody asked to read. */
        ReaderAsk: {
            /** @description accepted, declined, or lapsed where it was no longer wanted; null while open. */
            answer?: string | null;
            /**
             * Format: date-time
             * @description When that was.
             */
            answered_at?: string | null;
            /**
             * Format: date-time
             * @description When.
             */
            asked_at: string;
            asked_by?: components["schemas"]["PersonRef"] | null;
            /** @description Who. */
            person: components["schemas"]["PersonRef"];
            /** @description Why it was declined; empty where the caller may not see it. */
            reason: string;
        };
        /** @description One requester with one reader, over the requests that have ended. */
        ReaderPair: {
            /**
             * Format: int64
             * @description Those that named the component claimed.
             */
            agreed: number;
            /** @description Whether the reader was a guest. */
            guest: boolean;
            /** @description Who read. */
            reader: components["schemas"]["PersonRef"];
            /**
             * Format: int64
             * @description Blind reads.
             */
            reads: number;
            /** @description Who asked. */
            requester: components["schemas"]["PersonRef"];
            /** @description Seconds from seeing the claim to signing it, one per signature, shortest first. */
            seconds: number[];
            /**
             * Format: int64
             * @description Signatures.
             */
            signed: number;
        };
        /** @description One measured value and the path it was taken through. */
        Reading: {
            /** @description Unique in the case, e.g. "r3"; sentences refer to it. */
            id: string;
            /** @description What was measured. */
            quantity: components["schemas"]["Quantity"];
            /** @description The point the first probe touched. */
            from: string;
            /** @description The point the second probe touched. */
            to: string;
            /**
             * @description The connectors that were lifted (unplugged, taken off) at the time.
             * @default []
             */
            lifted: string[];
            /** @description Off and proved dead, or energised. */
            power: components["schemas"]["Power"];
            /** @description Under power: which of the circuit's states it was in; its first where absent. */
            state?: string | null;
            /** @description What the meter showed. */
            shown: components["schemas"]["Shown"];
            /**
             * Format: double
             * @description Temperature of the part (for a compressor: its shell), °C, −60 to 250.
             */
            part_temp_c?: number | null;
            /**
             * Format: double
             * @description Minutes since the motor last ran, 0 to 100,000.
             */
            stopped_min?: number | null;
            /** @description The meter; a usual one where absent. */
            meter?: components["schemas"]["Meter"] | null;
        };
        /** @description The body of a move that gives a reason. */
        Reason: {
            /** @description Why. */
            reason?: string;
        };
        /** @description A condemn request, as the caller may see it. */
        Request: {
            approval?: components["schemas"]["Approval"] | null;
            approval_ladder?: components["schemas"]["Ladder"] | null;
            /** @description Who was asked to read, oldest first. */
            asked: components["schemas"]["ReaderAsk"][];
            /** @description Whether the caller is asked to read it and has not answered. */
            asks_me: boolean;
            /**
             * Format: date-time
             * @description When it last changed.
             */
            changed_at: string;
            claim?: components["schemas"]["Claim"] | null;
            countersignature?: components["schemas"]["Countersignature"] | null;
            /**
             * Format: date-time
             * @description When it was made.
             */
            created_at: string;
            /** @description The evidence as last judged; null while hidden. */
            digest?: string | null;
            /** @description Whether a blind read on this evidence names something else. */
            disagreement: boolean;
            /**
             * Format: int64
             * @description The estimate; null while hidden.
             */
            estimated_cost_cents?: number | null;
            /** @description What has happened, oldest first. */
            events: components["schemas"]["Event"][];
            hidden?: components["schemas"]["Hidden"] | null;
            /**
             * Format: uuid
             * @description Its id.
             */
            id: string;
            /**
             * Format: uuid
             * @description The job.
             */
            job_id: string;
            /**
             * Format: int32
             * @description The job's number.
             */
            job_number: number;
            /**
             * Format: date-time
             * @description When it was judged; null while hidden.
             */
            judged_at?: string | null;
            ladder?: components["schemas"]["Ladder"] | null;
            /**
             * @description What the caller may do: submit, take, commit_read, countersign, send_back, hand_on,
             *     approve, decline, override, withdraw, overturn, stand_aside.
             */
            may: string[];
            /** @description The requester's words; null while hidden. */
            note?: string | null;
            override?: components["schemas"]["Override"] | null;
            /** @description What is owed, in order. */
            owed: components["schemas"]["OwedStep"][];
            /** @description Every blind read, oldest first; empty while hidden. */
            reads: components["schemas"]["Read"][];
            /** @description Who claims. */
            requester: components["schemas"]["PersonRef"];
            /** @description The same in words. */
            stage_words: string;
            /**
             * @description Where it stands: draft, held, ready, reading, revealed, countersigned, sent_back,
             *     awaiting_approval, approved, declined, withdrawn or overturned.
             */
            state: string;
            /** @description The unit's label. */
            unit_label: string;
            verdict?: components["schemas"]["Verdict"] | null;
            /**
             * Format: int32
             * @description Counts changes.
             */
            version: number;
            /**
             * Format: int32
             * @description Countersignatures that are void because the evidence changed.
             */
            void_signatures: number;
        };
        /** @description Where a job's condemn request stands; nothing of what it claims. */
        RequestSummary: {
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Its state in words. */
            stage_words: string;
            /** @description Its state. */
            state: string;
        };
        /** @description How far somebody is from breaking the rest rule. */
        RestMargin: {
            /**
             * Format: int64
             * @description Minutes left; negative where it is broken.
             */
            left_min: number;
            /** @description Where it is tightest, in words. */
            says: string;
        };
        /** @description The shop's rest rule. The defaults are common practice, no source; local law decides. */
        RestRule: {
            /**
             * Format: int64
             * @description Longest run of work without a rest, minutes, 240 to 1440.
             */
            duty_max_min: number;
            /**
             * Format: int32
             * @description Most nights on call in a row, 1 to 31.
             */
            nights_on_call_max: number;
            /** @description What happens to a change that breaks it. */
            on_break: components["schemas"]["OnBreak"];
            /**
             * Format: int64
             * @description Minutes without work that make a rest, 240 to 1440.
             */
            rest_min: number;
        };
        /**
         * @description What a person may do.
         * @enum {string}
         */
        Role: "technician" | "service_manager" | "scheduler" | "owner";
        /** @description The rota over a span. */
        Rota: {
            /** @description The days, with holidays and opening hours. */
            days: components["schemas"]["RotaDay"][];
            /** @description The entries that stand, by time. */
            entries: components["schemas"]["RotaEntry"][];
            /** @description When the shop is closed and nobody is on call, where it has people on call at all. */
            holes: components["schemas"]["Span"][];
            /** @description The zone of the shop's wall. */
            zone: string;
        };
        /** @description One day of the shop's. */
        RotaDay: {
            /**
             * Format: date
             * @description The day.
             */
            date: string;
            /**
             * Format: date-time
             * @description When it ends; 23 or 25 hours later where the clocks are changed.
             */
            end: string;
            /** @description The holiday's name. */
            holiday?: string | null;
            /** @description When the shop is open. */
            open: components["schemas"]["Span"][];
            /**
             * Format: date-time
             * @description When it begins.
             */
            start: string;
            /** @description Whether it is a Saturday, a Sunday or a holiday. */
            weekend: boolean;
        };
        /** @description An entry of the rota. */
        RotaEntry: {
            /**
             * Format: date-time
             * @description Until when.
             */
            end: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description What. */
            kind: components["schemas"]["DutyKind"];
            /** @description A word about it; often empty. */
            note: string;
            /** @description Whose, by name. */
            person: components["schemas"]["PersonRef"];
            /**
             * Format: uuid
             * @description Whose.
             */
            person_id: string;
            /**
             * Format: date-time
             * @description From when.
             */
            start: string;
        };
        /** @description A new entry. */
        RotaEntryAdd: {
            /**
             * Format: date-time
             * @description Until when.
             */
            end: string;
            /** @description What. */
            kind: components["schemas"]["DutyKind"];
            /** @description A word about it. */
            note?: string;
            /**
             * Format: uuid
             * @description Whose.
             */
            person_id: string;
            /**
             * Format: date-time
             * @description From when.
             */
            start: string;
        };
        /** @description An entry that was put in. */
        RotaEntryDone: {
            /** @description The entry. */
            entry: components["schemas"]["RotaEntry"];
            /** @description What it breaks. */
            warnings: components["schemas"]["RotaWarning"][];
        };
        /** @description Why an entry is taken out. */
        RotaEntryRemove: {
            /** @description In a few words; may be empty. */
            why?: string;
        };
        /** @description Whether the caller has a link. */
        RotaFeed: {
            /**
             * Format: date-time
             * @description When it was made; null where they have none.
             */
            made_at?: string | null;
            /** @description Where it leads, after the service's own address; only in the answer that made it. */
            path?: string | null;
        };
        /** @description Something that a change breaks, and that the shop lets pass. */
        RotaWarning: {
            /** @description Whose rest. */
            person: components["schemas"]["PersonRef"];
            /** @description What is wrong and what would be right, in a sentence or two. */
            says: string;
        };
        /** @description Why, in a few words. */
        RotaWhy: {
            /** @description In a few words; may be empty, except where leave is refused. */
            why?: string;
        };
        /** @description A rule as it is now. */
        Rule: components["schemas"]["RuleVersion"] & {
            /**
             * Format: int64
             * @description How often it fired in the last 28 days.
             */
            fired_28d: number;
            /**
             * Format: date-time
             * @description When it last fired.
             */
            fired_at?: string | null;
            /** @description Whether its condition held then. */
            held?: boolean | null;
            /**
             * Format: uuid
             * @description Its id.
             */
            id: string;
            /**
             * Format: date-time
             * @description When it was last looked at.
             */
            looked_at?: string | null;
            /** @description Why it could not be told or carried out at the last look. */
            trouble?: string | null;
        };
        /** @description Something that a rule does when it fires. */
        RuleAction: {
            /** @enum {string} */
            do: "call_out_next";
        } | {
            /** @enum {string} */
            do: "open_second_rota";
        } | {
            /**
             * Format: int32
             * @description Most calls that one firing puts off.
             */
            at_most: number;
            /** @enum {string} */
            do: "defer_comfort";
            /** @description What makes do until then, told to the customer. */
            holdover: string;
        } | {
            /** @enum {string} */
            do: "offer_remote_read";
        } | {
            /** @enum {string} */
            do: "widen_readers";
        } | {
            /** @enum {string} */
            do: "delegate_approvals";
            /**
             * Format: int64
             * @description For how long, hours.
             */
            hours: number;
            /**
             * Format: uuid
             * @description Who; must be named before the rule can be on.
             */
            person_id?: string | null;
            /**
             * Format: int64
             * @description Below this amount, cents.
             */
            up_to_cents: number;
        } | {
            /** @enum {string} */
            do: "ask_neighbour";
            /** @description Where they read their mail; must be named before the rule can be on. */
            email: string;
            /** @description What is asked of them. */
            message: string;
            /** @description Whom; must be named before the rule can be on. */
            name: string;
        };
        /** @description What a trial made of an action. */
        RuleActionPlayed: {
            /** @description The action. */
            action: string;
            /** @description It was played; only counted otherwise. */
            played: boolean;
            /** @description How, or why not. */
            says: string;
        };
        /** @description A new version of a rule. */
        RuleChange: {
            /** @description What it says from now on. */
            rule: components["schemas"]["RuleNew"];
            /**
             * Format: int32
             * @description The version that was looked at.
             */
            version: number;
        };
        /** @description What became of a span. */
        RuleCourse: {
            /**
             * Format: int32
             * @description Approvals that waited; none in a drawn weekend.
             */
            approvals: number;
            /**
             * Format: int32
             * @description Calls.
             */
            calls: number;
            /**
             * Format: int32
             * @description Urgent calls that waited longer than they may.
             */
            late: number;
            /**
             * Format: double
             * @description The longest wait of one, minutes.
             */
            longest_approval_min: number;
            /**
             * Format: double
             * @description The longest wait of one, minutes.
             */
            longest_read_min: number;
            /**
             * Format: double
             * @description The longest wait of an urgent call, minutes.
             */
            longest_urgent_min: number;
            /**
             * Format: int32
             * @description Calls put off.
             */
            put_off: number;
            /**
             * Format: int32
             * @description Second reads that waited; none in a drawn weekend.
             */
            reads: number;
        };
        /** @description A time that a rule fired. */
        RuleFiring: {
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /**
             * Format: uuid
             * @description Its id.
             */
            id: string;
            /** @description Whether anything was done; only noted otherwise. */
            live: boolean;
            /** @description Its name then. */
            name: string;
            /** @description What came of each action: `[{"do", "done", "says"}]`. */
            outcomes: unknown;
            /**
             * Format: uuid
             * @description The rule.
             */
            rule_id: string;
            /** @description What the condition looked at, by name, as it was. */
            values: unknown;
            /**
             * Format: int32
             * @description Its version then.
             */
            version: number;
        };
        /** @description A rule to add. */
        RuleNew: {
            /** @description What it does. */
            actions: components["schemas"]["RuleAction"][];
            /** @description When it fires, in the Common Expression Language. */
            condition: string;
            /** @description Its name. */
            name: string;
            /**
             * Format: int64
             * @description Minutes before it may fire again.
             */
            rearm_min: number;
            /** @description Why it is changed; may be empty. */
            reason?: string;
            /** @description Whether it does anything. */
            state: components["schemas"]["RuleState"];
            /** @description Why one would want it; may be empty. */
            why?: string;
        };
        /** @description What a rule would have done. */
        RuleRehearsal: {
            /** @description Each action: whether it was played or only counted, and why. */
            actions: components["schemas"]["RuleActionPlayed"][];
            /** @description Each time it would have fired. */
            fired: components["schemas"]["RuleWouldFire"][];
            /** @description Hours. */
            hours: number;
            /** @description What was assumed, a sentence each. */
            notes: string[];
            /** @description Over all drawn weekends, in words. */
            on_average?: string | null;
            /** @description In words. */
            says: string;
            /**
             * Format: date-time
             * @description From.
             */
            start: string;
            /** @description Why the condition could not be told, where it could not. */
            untold?: string | null;
            /** @description With it. */
            with: components["schemas"]["RuleCourse"];
            /** @description Without the rule. */
            without: components["schemas"]["RuleCourse"];
        };
        /**
         * @description Whether a rule does anything.
         * @enum {string}
         */
        RuleState: "off" | "tried" | "on";
        /** @description A rule with its history. */
        RuleStory: {
            /** @description Newest first. */
            firings: components["schemas"]["RuleFiring"][];
            /** @description As it is now. */
            rule: components["schemas"]["Rule"];
            /** @description Newest first. */
            versions: components["schemas"]["RuleVersion"][];
        };
        /** @description A rule to try. */
        RuleTry: {
            /** @description What it does. */
            actions: components["schemas"]["RuleAction"][];
            /** @description When it fires. */
            condition: string;
            /** @description On which span. */
            over: components["schemas"]["RuleTryOver"];
            /**
             * Format: int64
             * @description Minutes before it may fire again.
             */
            rearm_min: number;
            /**
             * Format: int32
             * @description What is drawn with.
             */
            seed?: number;
        };
        /**
         * @description On which span a rule is tried.
         * @enum {string}
         */
        RuleTryOver: "last_weekend" | "simulated";
        /** @description What a condition may speak of. */
        RuleVariable: {
            /** @description What may stand after its dot. */
            fields: string[];
            /** @description `bool`, `int`, `double`, `day`, `int_by_class` or `double_by_class`. */
            kind: string;
            /** @description Its name. */
            name: string;
            /** @description What it says. */
            says: string;
            /** @description Its unit; often empty. */
            unit: string;
        };
        /** @description A version of a rule. */
        RuleVersion: {
            /** @description What it does. */
            actions: components["schemas"]["RuleAction"][];
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            by?: components["schemas"]["PersonRef"] | null;
            /** @description When it fires. */
            condition: string;
            /** @description The same in words. */
            does: string[];
            /** @description Its name. */
            name: string;
            /**
             * Format: int64
             * @description Minutes before it may fire again.
             */
            rearm_min: number;
            /** @description Why it was changed. */
            reason: string;
            /** @description Whether it does anything. */
            state: components["schemas"]["RuleState"];
            /**
             * Format: int32
             * @description Counted per rule, from 1.
             */
            version: number;
            /** @description Why one would want it. */
            why: string;
        };
        /** @description A time that a rule would have fired. */
        RuleWouldFire: {
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /**
             * Format: int32
             * @description Comfort calls put off by it.
             */
            put_off: number;
            /** @description What was seen then, by name. */
            values: unknown;
        };
        /** @description The shop's rules. */
        Rules: {
            /** @description The latest firings, newest first. */
            firings: components["schemas"]["RuleFiring"][];
            /** @description As they are now. */
            rules: components["schemas"]["Rule"][];
            /** @description What a condition may speak of. */
            variables: components["schemas"]["RuleVariable"][];
        };
        /** @description One step of a ladder. */
        Rung: {
            /** @description ask_best, ask_next or ask_everyone. */
            action: string;
            /**
             * Format: date-time
             * @description When it fires.
             */
            due_at: string;
            /**
             * Format: date-time
             * @description When it did.
             */
            fired_at?: string | null;
            /**
             * Format: date-time
             * @description Until when it waits, since everybody it would reach has quiet hours.
             */
            held_until?: string | null;
            /** @description What became of it, in words; empty where there is nothing to say. */
            note: string;
            /**
             * Format: int32
             * @description Which, from 0.
             */
            rung: number;
            /**
             * Format: date-time
             * @description When it was skipped, since the ladder had stopped.
             */
            skipped_at?: string | null;
            /** @description Whom it reached. */
            told: components["schemas"]["RungTold"][];
            /** @description What it does, in words. */
            words: string;
        };
        /** @description Somebody whom a step reached. */
        RungTold: {
            /** @description Asked to take it, or only told of it. */
            asked: boolean;
            /**
             * Format: date-time
             * @description When they said no.
             */
            declined_at?: string | null;
            /** @description Whether by mail too. */
            mailed: boolean;
            /** @description Who. */
            person: components["schemas"]["PersonRef"];
            /** @description Why. */
            reason: string;
        };
        /** @description The body that says what a job turned out to be. */
        SayFound: {
            /** @description How that is known. */
            how: components["schemas"]["FoundHow"];
            /** @description Its fault mode. */
            mode?: string | null;
            /** @description Anything more; at most 2,000 characters. */
            note?: string;
            /** @description A fault's part, as the circuit calls it. */
            part?: string | null;
            /** @description What it was. */
            was: components["schemas"]["FoundWas"];
            /** @description What it was, where the circuit does not list it; at most 300 characters. */
            words?: string | null;
        };
        /** @description Until when the second rota is opened, and why. */
        SecondOpen: {
            /**
             * Format: date-time
             * @description Until when, at most 14 days from now.
             */
            until: string;
            /** @description Why; whoever is on it is told. */
            why: string;
        };
        /** @description Who was told that the second rota is open. */
        SecondOpened: {
            /** @description Who is on it, and was told. */
            told: components["schemas"]["PersonRef"][];
            /**
             * Format: date-time
             * @description Until when.
             */
            until: string;
        };
        /** @description The body that sends a request back. */
        SendBack: {
            /** @description What to measure, and why. */
            note: string;
            /** @description The title of the proposed test, where it is one of the verdict's. */
            test?: string | null;
        };
        /** @description A session. */
        Session: {
            /** @description What the browser says it is. */
            agent: string;
            /**
             * Format: date-time
             * @description When it began.
             */
            created_at: string;
            /** @description Whether it is the one asking. */
            current: boolean;
            /**
             * Format: date-time
             * @description When it ends unless refreshed.
             */
            expires_at: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Whose. */
            person: components["schemas"]["PersonRef"];
            /**
             * Format: date-time
             * @description When it was last refreshed.
             */
            seen_at: string;
        };
        /** @description A session that has begun or goes on. The refresh token is in a cookie. */
        SessionOpened: {
            /** @description Goes into `Authorization: Bearer …`. */
            access_token: string;
            /**
             * Format: int64
             * @description Seconds until it expires.
             */
            expires_in_s: number;
            /** @description Who signed in. */
            person: components["schemas"]["Me"];
        };
        /** @description A shop. */
        Shop: {
            /**
             * Format: int64
             * @description Up to this amount a policy may answer for the money, in cents.
             */
            approval_limit_cents: number;
            /** @description When a person must approve, whatever the amount. */
            approval_rules: components["schemas"]["ApprovalRules"];
            /** @description ISO 4217 code. */
            currency: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /** @description Name. */
            name: string;
            /** @description The telephone that customers are told to call. */
            phone?: string | null;
            /** @description The thresholds of its verdicts. */
            policy: components["schemas"]["Policy"];
            /** @description IANA zone. */
            zone: string;
        };
        /** @description The shop's calendar. */
        ShopCalendar: {
            /** @description The holidays that follow, this year's and next year's. */
            holidays: components["schemas"]["Holiday"][];
            /** @description What the shop says. */
            settings: components["schemas"]["CalendarPut"];
            /** @description The zone of its wall. */
            zone: string;
        };
        /** @description What the shop's calls turned out to be. */
        ShopFound: {
            /**
             * Format: int32
             * @description Calls of which somebody said what they were.
             */
            calls: number;
            /**
             * Format: double
             * @description Those that move the odds, each by its weight.
             */
            counted: number;
            /** @description Found beside expected, by kind of fault; what was found most comes first. */
            kinds: components["schemas"]["FoundKind"][];
            /** @description What they were, plainly; the most frequent first. */
            turned: components["schemas"]["FoundTurned"][];
        };
        /** @description Everything that a shop says about its ladders. */
        ShopLadders: {
            /** @description For an approval that waits. */
            approval: components["schemas"]["LadderSteps"];
            /** @description Jobs of these classes are told in quiet hours too. */
            never_quiet: components["schemas"]["Urgency"][];
            quiet?: components["schemas"]["QuietHours"] | null;
            /** @description For a second read. */
            second_read: components["schemas"]["LadderSteps"];
            /** @description Which jobs are urgent enough for a ladder when nobody has them. */
            urgent: components["schemas"]["Urgency"][];
            /** @description For an urgent job that nobody has. */
            urgent_job: components["schemas"]["LadderSteps"];
        };
        /** @description What to change of a shop; what is absent stays. */
        ShopPatch: {
            /**
             * Format: int64
             * @description Up to this amount a policy may answer for the money, in cents.
             */
            approval_limit_cents?: number | null;
            approval_rules?: components["schemas"]["ApprovalRules"] | null;
            /** @description Name. */
            name?: string | null;
            /** @description The telephone that customers are told to call; null for none. */
            phone?: string | null;
            policy?: components["schemas"]["Policy"] | null;
            /** @description Why; needed where something is loosened, and kept with the change on the record. */
            reason?: string | null;
            /** @description IANA zone. */
            zone?: string | null;
        };
        /** @description Who wants in. */
        SignIn: {
            /** @description E-mail address. */
            email: string;
            /** @description Password. */
            password: string;
        };
        /** @description A site: where units stand. */
        Site: {
            /** @description Street and number. */
            address: string;
            /**
             * Format: int32
             * @description Altitude, feet.
             */
            altitude_ft?: number | null;
            /**
             * Format: uuid
             * @description Whose.
             */
            customer_id: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /**
             * Format: double
             * @description Degrees north, WGS 84.
             */
            latitude?: number | null;
            /**
             * Format: double
             * @description Degrees east, WGS 84.
             */
            longitude?: number | null;
            /** @description The way in, the dog, the key. */
            notes: string;
            /** @description Town. */
            town: string;
            /**
             * Format: int32
             * @description Counts changes.
             */
            version: number;
            /** @description IANA zone; times are shown local to it. */
            zone: string;
        };
        /** @description A new site. */
        SiteAdd: {
            /** @description Street and number. */
            address: string;
            /**
             * Format: int32
             * @description Altitude, feet, −1500 to 20000.
             */
            altitude_ft?: number | null;
            /**
             * Format: double
             * @description Degrees north, −90 to 90; needs a longitude.
             */
            latitude?: number | null;
            /**
             * Format: double
             * @description Degrees east, −180 to 180.
             */
            longitude?: number | null;
            /** @description The way in, the dog, the key. */
            notes?: string;
            /** @description Town. */
            town: string;
            /** @description IANA zone; the shop's where absent. */
            zone?: string | null;
        };
        /** @description What to change of a site; what is absent stays, null clears. */
        SitePatch: {
            /** @description Street and number. */
            address?: string | null;
            /**
             * Format: int32
             * @description Altitude, feet, −1500 to 20000.
             */
            altitude_ft?: number | null;
            /**
             * Format: double
             * @description Degrees north; change both together, null for both clears.
             */
            latitude?: number | null;
            /**
             * Format: double
             * @description Degrees east.
             */
            longitude?: number | null;
            /** @description The way in, the dog, the key. */
            notes?: string | null;
            /** @description Town. */
            town?: string | null;
            /**
             * Format: int32
             * @description The version that was looked at; where given, a newer one is not overwritten.
             */
            version?: number | null;
            /** @description IANA zone. */
            zone?: string | null;
        };
        /** @description A site with its units. */
        SiteWhole: components["schemas"]["Site"] & {
            /** @description The units. */
            units: components["schemas"]["UnitHeld"][];
        };
        /** @description A piece of a snippet. */
        SnippetPiece: {
            /** @description Whether they are what was searched for. */
            hit: boolean;
            /** @description The words. */
            text: string;
        };
        /** @description From one moment to another. */
        Span: {
            /**
             * Format: date-time
             * @description Until when; not within.
             */
            end: string;
            /**
             * Format: date-time
             * @description From when.
             */
            start: string;
        };
        /** @description A value from the nameplate or the maker's sheet that replaces the circuit's family value. */
        Spec: {
            /**
             * Format: double
             * @description The value in the unit below.
             */
            value: number;
            /** @description Unit of `value`; it must suit the part. */
            unit: components["schemas"]["Unit"];
            /**
             * Format: double
             * @description Tolerance in percent of the value, 0.1 to 50. The part's own where absent.
             */
            tolerance_pct?: number | null;
            /** @description Where it was read ("unit nameplate", "service sheet 4"). */
            source?: string | null;
        };
        /** @description What stands on the shop's jobs because nobody answered, and what waits for a working day. */
        Standing: {
            /** @description Jobs that wait. */
            deferred: components["schemas"]["StandingDeferral"][];
            /** @description Ladders that climb. */
            ladders: components["schemas"]["StandingLadder"][];
        };
        /** @description A job that waits for a working day. */
        StandingDeferral: {
            /**
             * Format: uuid
             * @description The job.
             */
            job_id: string;
            /**
             * Format: date-time
             * @description Until when.
             */
            until: string;
        };
        /** @description A ladder that climbs. */
        StandingLadder: {
            /** @description Whether the caller is asked and has not answered. */
            asks_me: boolean;
            /** @description Whether it waits for quiet hours to end. */
            held: boolean;
            /**
             * Format: uuid
             * @description The job it is on, or whose request it is on.
             */
            job_id: string;
            /** @description second_read, urgent_job or approval. */
            kind: string;
            /**
             * Format: date-time
             * @description When the next step fires; null after the last.
             */
            next_at?: string | null;
            /** @description What it does. */
            next_words?: string | null;
        };
        /**
         * @description How people are told.
         * @enum {string}
         */
        StepHow: "live" | "mail";
        /** @description Whom a step reaches. */
        StepWho: {
            /** @enum {string} */
            group: "best";
        } | {
            /**
             * Format: int32
             * @description 1 to 20.
             */
            count: number;
            /** @enum {string} */
            group: "next";
        } | {
            /** @enum {string} */
            group: "everyone";
        } | {
            /** @enum {string} */
            group: "on_call";
        } | {
            /** @enum {string} */
            group: "second_rota";
        } | {
            /** @enum {string} */
            group: "schedulers";
        } | {
            /** @enum {string} */
            group: "managers";
        } | {
            /** @enum {string} */
            group: "owners";
        } | {
            /** @enum {string} */
            group: "delegate";
        } | {
            /** @enum {string} */
            group: "person";
            /**
             * Format: uuid
             * @description Who.
             */
            person_id: string;
        };
        /** @description The body that strikes a reading. */
        StrikeReading: {
            /** @description Why it is no longer believed. */
            reason: string;
        };
        /** @description That a reading is no longer believed. */
        Struck: {
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description Who struck it. */
            by: components["schemas"]["PersonRef"];
            /** @description Why. */
            reason: string;
        };
        /**
         * @description How sure a reader is.
         * @enum {string}
         */
        SureShape: "sure" | "fairly_sure" | "cannot_tell";
        /** @description An offer. */
        Swap: {
            /**
             * Format: date-time
             * @description Until when it is open.
             */
            expires_at: string;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /**
             * Format: date-time
             * @description When it was made.
             */
            made_at: string;
            /** @description What the caller may do with it. */
            may: components["schemas"]["SwapMove"][];
            /** @description A word about it. */
            note: string;
            /** @description Whose duty is offered, and which. */
            offered: components["schemas"]["RotaEntry"];
            offered_to?: components["schemas"]["PersonRef"] | null;
            /** @description Why it was settled so; often empty. */
            settled_why: string;
            /** @description Where it stands. */
            state: components["schemas"]["SwapState"];
            wanted?: components["schemas"]["RotaEntry"] | null;
        };
        /** @description What somebody offers. */
        SwapAdd: {
            /**
             * Format: uuid
             * @description One of the caller's duties.
             */
            entry_id: string;
            /** @description A word about it. */
            note?: string;
            /**
             * Format: uuid
             * @description To whom; null to whoever takes it.
             */
            to?: string | null;
            /**
             * Format: uuid
             * @description One of theirs in return; null to give it away.
             */
            wanted_id?: string | null;
        };
        /**
         * @description What the caller may do with an offer.
         * @enum {string}
         */
        SwapMove: "accept" | "decline" | "withdraw";
        /**
         * @description Where an offer stands.
         * @enum {string}
         */
        SwapState: "open" | "accepted" | "declined" | "withdrawn" | "expired" | "overtaken";
        /** @description Test after test, from where the evidence stands until enough is known. */
        TestPlan: {
            /**
             * Format: uint32
             * @description Version of this format; 1.
             */
            format: number;
            /** @description The circuit's title. */
            circuit: string;
            /** @description SHA-256 (hex) of the evidence that it starts from, as in the verdict. */
            evidence_digest: string;
            /** @description What is proved so far. */
            outcome: components["schemas"]["Outcome"];
            /** @description The verdict so far, in one sentence. */
            sentence: string;
            /**
             * Format: double
             * @description Expected minutes of the tests ahead; where the plan ends early, of those it names.
             */
            expected_min: number;
            /**
             * Format: double
             * @description Minutes of the longest way through it.
             */
            longest_min: number;
            /** @description Whether every order in it is the cheapest there is, not only a good one. */
            exact: boolean;
            /** @description The steps, numbered from 1; the first is done first, and each leads only to later ones. */
            steps: components["schemas"]["PlanStep"][];
        };
        /** @description A job's thread, from a number on. */
        ThreadShape: {
            /**
             * Format: uuid
             * @description The job.
             */
            job_id: string;
            /**
             * Format: int64
             * @description The last message number there is; 0 for none.
             */
            last_seq: number;
            /** @description Who wrote here or was shown it. */
            members: components["schemas"]["MemberShape"][];
            /** @description Messages in the order of their numbers. */
            messages: components["schemas"]["MessageShape"][];
            /**
             * Format: uuid
             * @description The thread; null before its first message.
             */
            thread_id?: string | null;
        };
        /** @description A change of what the shop judges by. */
        ThresholdChange: {
            /** @description As it is from then on. */
            after: unknown;
            /**
             * Format: date-time
             * @description When.
             */
            at: string;
            /** @description As it was: policy, approval rules, approval limit. */
            before: unknown;
            by?: components["schemas"]["PersonRef"] | null;
            /** @description What was made looser, in words; empty where nothing was. */
            loosened: string[];
            /** @description Why, where they said. */
            reason?: string | null;
        };
        /** @description A ticket. */
        TicketShape: {
            /**
             * Format: int64
             * @description How long it is good.
             */
            expires_in_s: number;
            /** @description Goes into the address: `/live?ticket=…`. Good once. */
            ticket: string;
        };
        /** @description A new unit. */
        UnitAdd: {
            /** @description The circuit it is judged by; /api/circuits lists them. */
            circuit: string;
            /** @description Whether the refrigerant burns. */
            flammable?: boolean;
            /**
             * Format: date
             * @description When it was installed.
             */
            installed_on?: string | null;
            /** @description What people call it. */
            label: string;
            /** @description Maker. */
            maker?: string;
            /** @description Model. */
            model?: string;
            /** @description Refrigerant, e.g. "R-410A". */
            refrigerant?: string | null;
            /** @description Serial number. */
            serial?: string;
            /** @description Nameplate and service-sheet values, by part of the circuit. */
            specs?: {
                [key: string]: components["schemas"]["Spec"];
            };
            /**
             * Format: date
             * @description The last day of its warranty.
             */
            warranty_until?: string | null;
        };
        /** @description A unit: the equipment. */
        UnitHeld: {
            /** @description The circuit it is judged by. */
            circuit: string;
            /**
             * Format: int32
             * @description Which version, of a circuit of the shop's own; null for one that ships.
             */
            circuit_version?: number | null;
            /** @description Whether the refrigerant burns. */
            flammable: boolean;
            /**
             * Format: uuid
             * @description Id.
             */
            id: string;
            /**
             * Format: date
             * @description When it was installed.
             */
            installed_on?: string | null;
            /** @description What people call it. */
            label: string;
            /** @description Maker. */
            maker: string;
            /** @description Model. */
            model: string;
            /** @description Refrigerant, e.g. "R-410A". */
            refrigerant?: string | null;
            /** @description Serial number. */
            serial: string;
            /**
             * Format: uuid
             * @description Where it stands.
             */
            site_id: string;
            /** @description Nameplate and service-sheet values, by part of the circuit. */
            specs: {
                [key: string]: components["schemas"]["Spec"];
            };
            /**
             * Format: int32
             * @description Counts changes.
             */
            version: number;
            /**
             * Format: date
             * @description The last day of its warranty.
             */
            warranty_until?: string | null;
        };
        /** @description What to change of a unit; what is absent stays, null clears. */
        UnitPatch: {
            /**
             * @description The circuit it is judged by. Another one is taken in its latest version; the same one
             *     stays in the version that it is.
             */
            circuit?: string | null;
            /**
             * Format: int32
             * @description Which version of it, of a circuit of the shop's own.
             */
            circuit_version?: number | null;
            /** @description Whether the refrigerant burns. */
            flammable?: boolean | null;
            /**
             * Format: date
             * @description When it was installed.
             */
            installed_on?: string | null;
            /** @description What people call it. */
            label?: string | null;
            /** @description Maker. */
            maker?: string | null;
            /** @description Model. */
            model?: string | null;
            /** @description Refrigerant. */
            refrigerant?: string | null;
            /** @description Serial number. */
            serial?: string | null;
            /** @description Nameplate and service-sheet values, all of them. */
            specs?: {
                [key: string]: components["schemas"]["Spec"];
            } | null;
            /**
             * Format: int32
             * @description The version that was looked at; where given, a newer one is not overwritten.
             */
            version?: number | null;
            /**
             * Format: date
             * @description The last day of its warranty.
             */
            warranty_until?: string | null;
        };
        /**
         * @description How long a job can wait, most urgent first.
         * @enum {string}
         */
        Urgency: "no_heat_vulnerable" | "water" | "food_storage" | "no_heat_cool" | "comfort";
        /** @description The answer to a case. */
        Verdict: {
            /**
             * Format: uint32
             * @description Version of this format; 1.
             */
            format: number;
            /** @description Version of the engine that judged. */
            engine: string;
            /** @description The circuit judged by. */
            circuit: components["schemas"]["CircuitUsed"];
            /**
             * @description SHA-256 (hex) over readings, observations, claim, specs, policy, circuit text and
             *     engine version in canonical JSON (RFC 8785). What a countersignature is pinned to.
             */
            evidence_digest: string;
            /** @description What is proved. */
            outcome: components["schemas"]["Outcome"];
            /** @description The verdict in one sentence. */
            sentence: string;
            /** @description Why, in further sentences, most important first. */
            because: string[];
            /** @description The claim as judged; absent where none was made. */
            claim?: components["schemas"]["ClaimJudged"] | null;
            /** @description Share of each component, largest first, with what is none of them. They add up to 1. */
            components: components["schemas"]["ComponentShare"][];
            /** @description Faults that still explain the readings, largest share first. */
            suspects: components["schemas"]["Suspect"][];
            /** @description Faults that the readings exclude, and which readings did. */
            excluded: components["schemas"]["Excluded"][];
            /**
             * @description What the verdict rests on, and how it came about; absent in verdicts kept from before
             *     there was such a thing.
             */
            explained?: components["schemas"]["Explained"] | null;
            /** @description Checks beside the model, each with its source. */
            checks: components["schemas"]["Check"][];
            /** @description What must still be measured or answered before anything can be isolated. */
            owed: components["schemas"]["Owed"][];
            /** @description Readings to take again, with the reason. */
            retake: components["schemas"]["Retake"][];
            /** @description The best next tests, at most three, best first. */
            next_tests: components["schemas"]["NextTest"][];
            /** @description True when no test that the circuit allows can change the outcome. */
            nothing_left: boolean;
            /** @description Each reading beside what was expected of it. */
            readings: components["schemas"]["ReadingJudged"][];
            /** @description How much was considered and what was cut off. */
            considered: components["schemas"]["Considered"];
        };
        /** @description How ways are reckoned. */
        Ways: {
            /**
             * Format: double
             * @description Road length over great circle; 1.3 unless changed, common practice, no source.
             */
            factor: number;
            /**
             * Format: double
             * @description Average speed, km/h; 50 unless changed, common practice, no source.
             */
            km_per_h: number;
            /**
             * Format: int64
             * @description How many ways are known.
             */
            known: number;
            /** @description Most ways that can be known. */
            known_max: number;
            /**
             * Format: double
             * @description Where the shop is, degrees.
             */
            latitude?: number | null;
            /**
             * Format: double
             * @description Where the shop is, degrees.
             */
            longitude?: number | null;
            /**
             * Format: int64
             * @description Of the sites of open jobs, how many have no coordinates.
             */
            sites_without: number;
        };
        /** @description What to change of how ways are reckoned; what is absent stays. */
        WaysPatch: {
            /**
             * Format: double
             * @description 1 to 3.
             */
            factor?: number | null;
            /**
             * Format: double
             * @description 5 to 130.
             */
            km_per_h?: number | null;
            /**
             * @description The whole table of known ways: lines of `from,to,minutes`, each place the id of a site or
             *     "shop". An empty text takes the table out.
             */
            known_csv?: string | null;
            /**
             * Format: double
             * @description Degrees; goes with `longitude`.
             */
            latitude?: number | null;
            /**
             * Format: double
             * @description Degrees; goes with `latitude`.
             */
            longitude?: number | null;
        };
        /** @description The weather of a day to enter. */
        WeatherPut: {
            /**
             * Format: date
             * @description The day, on the shop's calendar.
             */
            day: string;
            /**
             * Format: int32
             * @description °F; null takes it back.
             */
            outdoor_f?: number | null;
        };
        /**
         * @description What kind of work a job is.
         * @enum {string}
         */
        Work: "diagnosis" | "repair" | "maintenance" | "installation" | "return_visit";
        /** @description A kind of work with what it usually takes. */
        WorkUsual: {
            /**
             * Format: int32
             * @description Minutes on site.
             */
            expected_min: number;
            /** @description The kind. */
            id: components["schemas"]["Work"];
            /** @description For people. */
            words: string;
        };
        /** @description What a customer answers. "unsure" counts as yes. */
        WorseAnswer: {
            /** @description A smell of gas, smoke, or an alarm for carbon monoxide. */
            danger: components["schemas"]["CallAnswer"];
            /** @description Food or medicine gets warm. */
            food: components["schemas"]["CallAnswer"];
            /** @description No heat, or no cooling, at all. */
            none_at_all: components["schemas"]["CallAnswer"];
            /** @description In their own words; may be empty. */
            says?: string;
            /** @description From the link. */
            token: string;
            /** @description Somebody who cannot be without it. */
            vulnerable: components["schemas"]["CallAnswer"];
            /** @description Water comes out. */
            water: components["schemas"]["CallAnswer"];
        };
        /** @description What a customer's link shows: nothing of them. */
        WorseLink: {
            /** @description What to do first where there is danger. */
            danger_says: string;
            /**
             * Format: int32
             * @description The job's number.
             */
            job_number: number;
            /** @description The shop's name. */
            shop_name: string;
            /** @description Its telephone. */
            shop_phone?: string | null;
            /** @description open, told or over. */
            standing: string;
            /** @description When somebody comes at the earliest, by the clock at the site. */
            until: string;
        };
        /** @description The body with a customer's token. */
        WorseToken: {
            /** @description From the link. */
            token: string;
        };
        /** @description The unit that a meter showed. */
        Unit: "ohm" | "kilohm" | "megohm" | "microfarad" | "volt" | "ampere";
        /** @description What a reading measures. */
        Quantity: "resistance" | "insulation" | "capacitance" | "voltage" | "current" | "direct_voltage" | "diode";
        /** @description Whether the circuit was energised. */
        Power: "off" | "energised";
        /** @description What the meter showed. */
        Shown: {
            /** @constant */
            is: "value";
            /**
             * Format: double
             * @description The number as shown; never negative.
             */
            value: number;
            /** @description The unit as shown. */
            unit: components["schemas"]["Unit"];
        } | {
            /** @constant */
            is: "over_limit";
        } | {
            /** @constant */
            is: "climbing";
        };
        /** @description The meter and how it was set up. */
        Meter: {
            /** @description What the technician calls it. */
            label?: string | null;
            /**
             * Format: double
             * @description Percent of reading, 0 to 20.
             */
            accuracy_pct?: number | null;
            /**
             * Format: double
             * @description The smallest step shown, in the reading's base unit.
             */
            resolution?: number | null;
            /**
             * Format: double
             * @description The highest value before "OL", in the reading's base unit.
             */
            highest?: number | null;
            /**
             * Format: double
             * @description Resistance of the test leads, ohm, 0 to 10.
             */
            lead_ohm?: number | null;
            /** @description Whether the leads' resistance was taken off before reading. */
            zeroed?: boolean | null;
            /**
             * @description A voltmeter of low impedance, which a lead that hangs open cannot feed. A usual one
             *     shows ghost voltage there.
             */
            low_impedance?: boolean | null;
        };
        /** @description A yes or no about a sign that the circuit file lists. */
        Observation: {
            /** @description Unique in the case, e.g. "o1". */
            id: string;
            /** @description The sign, as named in the circuit. */
            sign: string;
            /** @description Whether it was found. */
            present: boolean;
        };
        /** @description What a shop's confirmed calls say; see [`Tally`]. */
        Rates: {
            /**
             * Format: double
             * @description Confirmed calls counted, each by its weight.
             */
            calls: number;
            /** @description Nothing was wrong with the circuit. */
            nothing_wrong: components["schemas"]["Events"];
            /** @description A passing state: an overload open on heat. */
            passing: components["schemas"]["Events"];
            /** @description Faults, each kind once, in the order of kind and effect. */
            faults: components["schemas"]["FaultEvents"][];
        };
        /** @description Found and expected events. */
        Events: {
            /**
             * Format: double
             * @description On so many confirmed calls it was this, each call by its weight; 0 to 1,000,000.
             */
            found: number;
            /**
             * Format: double
             * @description So many would have been expected by the circuit files alone; 0 to 1,000,000.
             */
            expected: number;
        };
        /** @description Found and expected events of one kind of fault. */
        FaultEvents: {
            /** @description What the part is. */
            kind: components["schemas"]["PartKind"];
            /** @description What the fault does. */
            effect: components["schemas"]["Effect"];
            /**
             * Format: double
             * @description As in [`Events`].
             */
            found: number;
            /**
             * Format: double
             * @description As in [`Events`].
             */
            expected: number;
        };
        /** @description What a part is; this decides how it is drawn and predicted. */
        PartKind: "winding" | "lead" | "contact" | "overload" | "capacitor" | "coil" | "switch" | "heater" | "fuse" | "source" | "diode" | "mechanism";
        /** @description What a fault does. */
        Effect: "open" | "series" | "fraction" | "to_shell" | "source_fraction" | "open_hot" | "stuck_closed" | "mechanical";
        /** @description The circuit that a verdict was reached with. */
        CircuitUsed: {
            /** @description Its name. */
            name: string;
            /** @description Its title. */
            title: string;
            /** @description SHA-256 (hex) of its text. */
            digest: string;
        };
        /** @description What the readings prove about the claim. */
        Outcome: "isolated" | "not_isolated" | "contradicted" | "inconsistent" | "incomplete";
        /** @description The claim, in words, and the share it holds. */
        ClaimJudged: {
            /** @description Component identifier. */
            component: string;
            /** @description Part identifier. */
            part?: string | null;
            /** @description Mode identifier. */
            mode?: string | null;
            /** @description "run winding open". */
            label: string;
            /**
             * Format: double
             * @description Share of exactly what is claimed, 0 to 1.
             */
            share: number;
            /**
             * Format: double
             * @description Share of the component claimed, 0 to 1.
             */
            component_share: number;
            /**
             * Format: double
             * @description The lowest share of the component with any one reading or observation left out; absent
             *     without any.
             */
            leave_one_out_share?: number | null;
            /** @description The reading or observation whose absence gives that lowest share. */
            leans_on?: string | null;
        };
        /** @description One component's share. */
        ComponentShare: {
            /**
             * @description Component identifier; "nothing_wrong", "unknown_fault" and "passing_state" stand for
             *     themselves.
             */
            component: string;
            /** @description For people. */
            label: string;
            /**
             * Format: double
             * @description 0 to 1. Conductors of this component that may touch others count here, half each where two
             *     components own them; the gate does not go by them.
             */
            share: number;
            /** @description Whether this one is claimed. */
            claimed: boolean;
            /** @description Whether it can be replaced (the three that stand for themselves cannot). */
            replaceable: boolean;
        };
        /** @description A fault that still explains the readings. */
        Suspect: {
            /** @description Part identifier. */
            part: string;
            /** @description Mode identifier. */
            mode: string;
            /** @description Component identifier. */
            component: string;
            /** @description "lead C open". */
            label: string;
            /**
             * Format: double
             * @description Probability that this fault is present, 0 to 1.
             */
            share: number;
            /** @description Other suspects that no reading taken so far tells apart from this one ("part.mode"). */
            not_told_apart_from: string[];
        };
        /** @description A fault that the readings exclude. */
        Excluded: {
            /** @description Part identifier. */
            part: string;
            /** @description Mode identifier. */
            mode: string;
            /** @description Component identifier. */
            component: string;
            /** @description "run winding open". */
            label: string;
            /**
             * Format: double
             * @description What is left of it, 0 to 1.
             */
            share: number;
            /** @description The readings and observations that excluded it, strongest first. */
            by: string[];
        };
        /** @description The explanation of a verdict. */
        Explained: {
            /** @description The strongest other component; absent where none holds anything. */
            best_rival?: components["schemas"]["Rival"] | null;
            /**
             * @description The piece of evidence without which another component would lead; absent where none
             *     does that by itself.
             */
            turns_on?: components["schemas"]["TurnsOn"] | null;
            /**
             * @description The occasion (readings with the same things lifted and the same warmth) whose absence
             *     lowers the judged component's share most; absent where there is only one.
             */
            without_occasion?: components["schemas"]["WithoutOccasion"] | null;
            /** @description How each piece of evidence moved each suspect. */
            waterfall: components["schemas"]["Waterfall"];
        };
        /** @description The strongest other component. */
        Rival: {
            /** @description Component identifier. */
            component: string;
            /** @description For people. */
            label: string;
            /**
             * Format: double
             * @description Its share, 0 to 1.
             */
            share: number;
            /** @description The piece of evidence that speaks most against it; absent where none does. */
            against?: string | null;
            /** @description In a sentence. */
            says: string;
        };
        /** @description A piece of evidence on which it all turns. */
        TurnsOn: {
            /** @description The reading or observation. */
            evidence: string;
            /** @description What would lead without it: a component, or one of those that stand for themselves. */
            leads_to: string;
            /**
             * Format: double
             * @description Its share then, 0 to 1.
             */
            share: number;
            /** @description In a sentence. */
            says: string;
        };
        /** @description What is left of the judged component without one occasion. */
        WithoutOccasion: {
            /** @description The readings of that occasion. */
            readings: string[];
            /**
             * Format: double
             * @description The component's share without them, 0 to 1.
             */
            share: number;
            /** @description In a sentence. */
            says: string;
        };
        /**
         * @description Shares of the suspects before anything was read and after each piece of evidence, in the
         *     order in which they were taken.
         */
        Waterfall: {
            /** @description The suspects shown, strongest at the end first; the last stands for everything else. */
            suspects: components["schemas"]["WaterfallSuspect"][];
            /** @description The first is before any evidence. */
            steps: components["schemas"]["WaterfallStep"][];
        };
        /** @description A suspect of the waterfall. */
        WaterfallSuspect: {
            /** @description "part.mode", or "nothing_wrong", "unknown_fault", "everything_else". */
            key: string;
            /** @description Its part, where it is one. */
            part?: string | null;
            /** @description For people. */
            label: string;
        };
        /** @description The shares after a piece of evidence. */
        WaterfallStep: {
            /** @description The reading or observation; absent before any. */
            evidence?: string | null;
            /** @description "r2: T1 to T2, nothing lifted: OL". */
            label: string;
            /** @description Share of each suspect, in their order; they add up to 1. */
            shares: number[];
            /** @description What moved most, in a sentence. */
            says: string;
        };
        /** @description One check beside the model. */
        Check: {
            /** @description "winding_sum", "voltage_unbalance", … */
            id: string;
            /** @description For people. */
            title: string;
            /** @description How it came out. */
            result: components["schemas"]["CheckResult"];
            /** @description In a sentence, with the numbers. */
            says: string;
            /** @description Where the rule comes from. */
            source: string;
            /** @description The readings it used. */
            readings: string[];
        };
        /** @description How a check came out. */
        CheckResult: "pass" | "fail" | "asks" | "waiting";
        /** @description Something that must be known before a component can be isolated. */
        Owed: {
            /** @description The check that owes it. */
            check: string;
            /** @description What to do. */
            says: string;
            /** @description The sign to answer, where it is one. */
            sign?: string | null;
        };
        /** @description A reading to take again. */
        Retake: {
            /** @description The reading. */
            reading: string;
            /** @description Why, and how. */
            says: string;
        };
        /** @description A proposed test: one or more readings from one setting-up. */
        NextTest: {
            /** @description "At the compressor pins, plug off". */
            title: string;
            /** @description What to do, in order. */
            steps: string[];
            /**
             * Format: double
             * @description Minutes, setting up included.
             */
            minutes: number;
            /** @description What can hurt. */
            cautions: components["schemas"]["CautionShown"][];
            /** @description The readings to take. */
            takes: components["schemas"]["PlannedReading"][];
            /** @description The sign to answer, where the test is a question and not a reading. */
            sign?: string | null;
            /** @description The parts whose own value is to be looked up on the maker's sheet and given with the unit. */
            sheet?: string[];
            /** @description What each answer would mean, most likely first. */
            answers: components["schemas"]["Answer"][];
            /**
             * Format: double
             * @description Expected information about which component, in bits.
             */
            information_bits: number;
        };
        /** @description A caution and its words. */
        CautionShown: {
            /** @description Which. */
            caution: components["schemas"]["Caution"];
            /** @description The words. */
            says: string;
        };
        /** @description What can hurt someone; the words are [`Caution::says`]. */
        Caution: "live_voltage" | "stored_charge" | "moving_parts" | "hot_surface" | "terminal_blowout" | "flammable_refrigerant" | "combustion" | "height";
        /** @description A reading that a test asks for. */
        PlannedReading: {
            /** @description What to measure. */
            quantity: components["schemas"]["Quantity"];
            /** @description First point. */
            from: string;
            /** @description Second point. */
            to: string;
            /** @description What to lift first. */
            lifted: string[];
            /** @description Under power: the state of the circuit to read it in. */
            state?: string | null;
            /**
             * @description With a meter of low impedance, or a known load across the points: a usual one may show a
             *     ghost there.
             */
            low_impedance?: boolean;
            /** @description "compressor pin C to compressor pin R". */
            label: string;
        };
        /** @description One answer to a test and what it would mean. */
        Answer: {
            /** @description "C–R OL", "C–R about 0.5 Ω". */
            shows: string;
            /**
             * Format: double
             * @description How likely this answer is, 0 to 1.
             */
            chance: number;
            /** @description In a sentence. */
            means: string;
            /** @description The component that would then lead, and its share. */
            leads_to: string;
            /**
             * Format: double
             * @description Its share then, 0 to 1.
             */
            share: number;
        };
        /** @description A reading beside what was expected. */
        ReadingJudged: {
            /** @description The reading. */
            reading: string;
            /** @description In words: "T1 to T2, nothing lifted: OL". */
            label: string;
            /** @description What a sound circuit would show. */
            expected_sound: string;
            /** @description What the leading explanation would show. */
            expected_leading: string;
            /**
             * Format: double
             * @description Probability that this reading was taken wrongly, 0 to 1.
             */
            mistaken_share: number;
            /** @description Whether the model used it; false where the circuit cannot predict this kind yet. */
            used: boolean;
            /**
             * Format: double
             * @description Set where the meter itself may be off by a fifth of the value or more: that share, 0 to 1.
             */
            meter_share?: number | null;
            /** @description And a sentence about it. */
            meter_says?: string | null;
        };
        /** @description How much was considered. */
        Considered: {
            /**
             * Format: uint32
             * @description Hypotheses judged, nothing wrong and unknown included.
             */
            hypotheses: number;
            /**
             * Format: uint32
             * @description Single faults among them.
             */
            singles: number;
            /**
             * Format: uint32
             * @description Double faults among them.
             */
            doubles: number;
            /**
             * Format: double
             * @description Prior probability of what was cut off (double faults below the limit, triples).
             */
            cut_off: number;
            /**
             * Format: double
             * @description Share of what no circuit lists, conductors that touch among it, 0 to 1.
             */
            unknown_share: number;
            /** @description The thresholds used. */
            policy: components["schemas"]["Policy"];
            /**
             * Format: double
             * @description Confirmed calls of the shop that moved the circuit file's own priors; absent where none
             *     did.
             */
            confirmed_calls?: number | null;
        };
        /** @description One test and what follows each answer. */
        PlanStep: {
            /**
             * Format: uint32
             * @description Its number.
             */
            number: number;
            /** @description The test; its `answers` are the branches below. */
            test: components["schemas"]["NextTest"];
            /** @description What follows, likeliest answer first. Answers rarer than 2 of 100 are left out. */
            branches: components["schemas"]["PlanBranch"][];
        };
        /** @description What follows an answer: a further step, or an end. */
        PlanBranch: {
            /** @description "C–R OL". */
            shows: string;
            /**
             * Format: double
             * @description How likely this answer is once the step is reached, 0 to 1.
             */
            chance: number;
            /** @description What would then lead. */
            leads_to: string;
            /**
             * Format: double
             * @description Its share then, 0 to 1.
             */
            share: number;
            /**
             * Format: uint32
             * @description The step to go on with.
             */
            then?: number | null;
            /** @description How it ends here, where it does. */
            ends?: components["schemas"]["PlanEnd"] | null;
        };
        /** @description How a way through the plan ends. */
        PlanEnd: "settled" | "nothing_to_replace" | "nothing_left" | "plan_again";
        /** @description A condition in which the circuit is energised: what is on, what is commanded, what turns. */
        State: {
            /** @description Identifier, as readings use it. */
            id: string;
            /** @description For people: "calling for cooling, compressor not turning". */
            label: string;
            /** @description The sources that are on. A source fed by another part follows it by itself. */
            energised: string[];
            /** @description Switches commanded to close. */
            closed?: string[];
            /** @description Switches commanded to open. */
            opened?: string[];
            /** @description Parts of motors that turn: they present their `turning` impedance. */
            turning?: string[];
            /**
             * Format: double
             * @description Minutes to bring it about and leave it safe again.
             * @default 0
             */
            minutes: number;
        };
        /** @description Where work is done. */
        Place: {
            /** @description Identifier. */
            id: string;
            /** @description For people: "electrical panel". */
            label: string;
            /**
             * Format: double
             * @description Minutes to open and make safe.
             */
            minutes: number;
            /**
             * @description What can hurt there.
             * @default []
             */
            cautions: components["schemas"]["Caution"][];
        };
        /** @description A point where a probe can touch, or a hidden joint. */
        Point: {
            /** @description Identifier, as readings use it. */
            id: string;
            /** @description For people: "compressor pin C". */
            label: string;
            /** @description Where it is; a hidden joint has none and cannot be probed. */
            place?: string | null;
            /** @description Connectors that must be lifted before a probe reaches it. */
            needs_lifted?: string[];
            /** @description Where it is drawn, in units of one grid square. */
            at: number[];
        };
        /** @description What is bought and replaced as one piece. */
        Component: {
            /** @description Identifier, as claims use it. */
            id: string;
            /** @description For people: "compressor". */
            label: string;
            /**
             * @description A costly replacement that needs a condemn request.
             * @default false
             */
            major: boolean;
            /** @description What a second reader must be qualified for, e.g. "sealed_system". */
            qualification?: string | null;
        };
        /** @description Anything in the circuit that can fail. */
        Part: {
            /** @description Identifier. */
            id: string;
            /** @description For people: "run winding". */
            label: string;
            /** @description The component it is replaced with. */
            component: string;
            /** @description What it is. */
            kind: components["schemas"]["PartKind"];
            /** @description The two points it joins; a mechanism has none. */
            between?: string[] | null;
            /**
             * Format: double
             * @description Nominal resistance at 25 °C, ohm.
             */
            ohm?: number | null;
            /**
             * Format: double
             * @description Nominal capacitance, microfarad.
             */
            microfarad?: number | null;
            /**
             * Format: double
             * @description Nominal voltage of a source, volt.
             */
            volt?: number | null;
            /**
             * Format: double
             * @description Limits of the good value, ± percent (two standard deviations); of the family where the unit's own is not known.
             */
            tolerance_pct?: number | null;
            /**
             * Format: double
             * @description The same once the unit's own value is given, ± percent.
             */
            spec_tolerance_pct?: number | null;
            /**
             * @description Parts with the same word here are alike by construction: one unknown value serves
             *     them all until the unit's own is given (the three windings of a three-phase motor).
             */
            alike?: string | null;
            /**
             * Format: double
             * @description Good insulation to the shell, megohm, where it has any.
             */
            insulation_megohm?: number | null;
            /**
             * @description Semiconductors that an insulation tester's volts would kill: no such test is proposed on
             *     what hangs together with them. A diode always is.
             */
            electronic?: boolean;
            /**
             * @description Copper follows temperature (windings, leads).
             * @default false
             */
            copper: boolean;
            /** @description Words that are facts of the unit: wire insulation colour, gauge, run. */
            note?: string | null;
            /** @description Where a switch rests; closed where absent. */
            normally?: components["schemas"]["Rest"] | null;
            /**
             * @description A switch that another part works (a coil, an inducer that proves its pressure
             *     switch): it leaves its rest while that part has [`Part::pull_in_volt`] across it and
             *     is not itself mechanically faulty.
             */
            driven_by?: string | null;
            /**
             * Format: double
             * @description Volts across `driven_by` from which the switch moves.
             */
            pull_in_volt?: number | null;
            /**
             * @description A source that follows another part (a transformer's secondary its primary, a DC link
             *     its rectifier): its volts are nominal times that part's volts over [`Part::at_volt`].
             */
            fed_by?: string | null;
            /**
             * Format: double
             * @description Volts across `fed_by` at which a source gives its nominal volts.
             */
            at_volt?: number | null;
            /**
             * Format: double
             * @description Internal resistance of a source, ohm; 0.05 where absent.
             */
            source_ohm?: number | null;
            /**
             * Format: double
             * @description Phase of a source against the others, degrees; 0 where absent.
             */
            phase_deg?: number | null;
            /** @description Under power and not turning (a locked motor, a coil); its direct resistance where absent. */
            still?: components["schemas"]["Impedance"] | null;
            /** @description Under power and turning, where a state says that it turns. */
            turning?: components["schemas"]["Impedance"] | null;
            /**
             * Format: double
             * @description Forward drop of a diode on a meter's diode test, volt.
             */
            drop_volt?: number | null;
            /**
             * @description Corners of the drawn line between its points. The symbol sits on the longest straight piece
             *     that no other part's line runs along.
             */
            via?: number[][];
            /**
             * @description How it can fail.
             * @default []
             */
            modes: components["schemas"]["Mode"][];
        };
        /** @description Where a switch rests with power off and nothing commanded. */
        Rest: "open" | "closed";
        /** @description What a part presents to alternating current at the circuit's frequency. */
        Impedance: {
            /**
             * Format: double
             * @description In phase, ohm, above 0.
             */
            ohm: number;
            /**
             * Format: double
             * @description In quadrature, ohm; positive where it is inductive.
             * @default 0
             */
            reactance_ohm: number;
        };
        /** @description One way for a part to fail. */
        Mode: {
            /** @description Identifier within the part: "open", "shorted", "grounded". */
            id: string;
            /** @description For people: "open". */
            label: string;
            /** @description What it does to the circuit. */
            effect: components["schemas"]["Effect"];
            /**
             * Format: double
             * @description Probability, before any reading, that a job of this kind has it: 0.0001 to 0.5.
             */
            prior: number;
            /** @description Sizes the fault may have, each equally likely; their meaning is the effect's. */
            sizes?: number[];
            /**
             * @description True of a passing state that condemns nothing (an overload open while hot).
             * @default false
             */
            passing: boolean;
        };
        /** @description A plug, a terminal or a lead end that can be lifted. */
        Connector: {
            /** @description Identifier, as `lifted` uses it. */
            id: string;
            /** @description For people: "compressor plug". */
            label: string;
            /** @description Where it is lifted. */
            place: string;
            /**
             * Format: double
             * @description Minutes to lift and put back, once the place is open.
             */
            minutes: number;
            /** @description The parts it takes out of the circuit when lifted. */
            opens: string[];
        };
        /** @description Something that can be seen, heard, smelt or established. */
        Sign: {
            /** @description Identifier, as observations use it. */
            id: string;
            /** @description As a question: "Does the motor hum without starting?" */
            asks: string;
            /**
             * Format: double
             * @description Minutes to find out.
             * @default 0
             */
            minutes: number;
            /** @description What can hurt while finding out. */
            cautions?: components["schemas"]["Caution"][];
            /**
             * Format: double
             * @description Probability of the sign when nothing that explains it is present.
             */
            otherwise: number;
            /**
             * @description What explains it, with the probability of the sign given that fault.
             * @default []
             */
            explained_by: components["schemas"]["Explains"][];
        };
        /** @description A fault that explains a sign. */
        Explains: {
            /** @description The part. */
            part: string;
            /** @description Its mode; every mode where absent. */
            mode?: string | null;
            /**
             * Format: double
             * @description Probability of the sign given that fault.
             */
            chance: number;
        };
        /** @description A check that stands beside the model, with its points named. */
        CheckSpec: {
            /** @constant */
            kind: "winding_sum";
            /** @description Common pin. */
            common: string;
            /** @description Start pin. */
            start: string;
            /** @description Run pin. */
            run: string;
            /** @description The sign that says the labels were confirmed. */
            labels_sign: string;
        } | {
            /** @constant */
            kind: "overload_cooling";
            /** @description Common pin. */
            common: string;
            /** @description Start pin. */
            start: string;
            /** @description Run pin. */
            run: string;
            /**
             * Format: double
             * @description Shell temperature at or below which the overload must have reset, °C.
             */
            cool_c: number;
            /**
             * Format: double
             * @description Minutes of rest after which the overload must have reset.
             */
            rest_min: number;
        } | {
            /** @constant */
            kind: "ground";
            /** @description The pins. */
            pins: string[];
            /** @description The shell point. */
            shell: string;
            /** @description The connector that must be lifted. */
            lifted: string;
            /**
             * Format: double
             * @description Below this is a ground fault, megohm.
             */
            fault_below_megohm: number;
            /**
             * @description Components that are not condemned before these pins were read: a ground here would
             *     kill their replacement.
             */
            before?: string[];
        } | {
            /** @constant */
            kind: "winding_balance";
            /** @description The three pins. */
            pins: string[];
            /**
             * Format: double
             * @description Fail above this percentage.
             */
            max_pct: number;
        } | {
            /** @constant */
            kind: "voltage_unbalance";
            /** @description The three supply points. */
            points: string[];
            /**
             * Format: double
             * @description Derate above this percentage.
             */
            derate_pct: number;
            /**
             * Format: double
             * @description Never above this percentage.
             */
            never_pct: number;
        } | {
            /** @constant */
            kind: "capacitor_under_load";
            /** @description The capacitor part. */
            part: string;
            /** @description Its two points, for volts. */
            points: string[];
            /** @description The two ends of the lead that carries its current, for amps. */
            amps_through: string[];
            /**
             * Format: double
             * @description Label tolerance, percent.
             */
            tolerance_pct: number;
        } | {
            /** @constant */
            kind: "contact_drop";
            /** @description The two points. */
            points: string[];
            /**
             * Format: double
             * @description Most volts that a good one loses.
             */
            max_volt: number;
        } | {
            /** @constant */
            kind: "stored_charge";
            /** @description The link's two ends. */
            points: string[];
            /**
             * Format: double
             * @description At or below this it counts as discharged, volt.
             */
            safe_volt: number;
        } | {
            /** @constant */
            kind: "supply_first";
            /** @description The pairs of points at the motor's own end of the supply. */
            pairs: string[][];
            /** @description The state in which it tries to start. */
            state: string;
            /** @description The source whose nominal volts it is rated for. */
            part: string;
            /**
             * Format: double
             * @description Volts of a pair over that source's own, where they differ: √3 between legs of a star.
             */
            times?: number | null;
            /**
             * Format: double
             * @description Least percent of nominal.
             */
            min_pct: number;
            /**
             * Format: double
             * @description Most percent of nominal.
             */
            max_pct: number;
            /** @description Components that are not condemned for a mechanism before. */
            before: string[];
        } | {
            /** @constant */
            kind: "wires_as_drawn";
            /** @description Components of wiring that are not condemned before. */
            before: string[];
            /** @description The sign that says they do. */
            sign: string;
        } | {
            /** @constant */
            kind: "capacitor_label";
            /** @description The capacitor part. */
            part: string;
            /** @description Its two points. */
            points: string[];
            /**
             * Format: double
             * @description Label tolerance, percent.
             */
            tolerance_pct: number;
        };
    };
    responses: never;
    parameters: never;
    requestBodies: never;
    headers: never;
    pathItems: never;
}
export type $defs = Record<string, never>;
export interface operations {
    board_show: {
        parameters: {
            query?: {
                /** @description Only what is planned or promised on this day of the shop ("2026-11-28"), ended ones too. */
                day?: string;
                /** @description Only somebody's: an id, "me" (and what waits for a reader) or "nobody". */
                person?: string;
                /** @description Only these classes, with commas between them. */
                urgency?: string;
                /** @description Only where every word of this is found: number, complaint, customer, address, unit. */
                q?: string;
                /** @description The `next` of the page before. */
                after?: string;
                /** @description Rows at most: 1 to 1000, 100 where absent; 0 for the counts alone. */
                limit?: number;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The page */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Board"];
                };
            };
            /** @description Not a day, person, class or place */
            400: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too long a text to look for */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    board_rows: {
        parameters: {
            query?: {
                /** @description Ids with commas between them, at most 200; no row where there is none. */
                ids?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The rows */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["BoardJob"][];
                };
            };
            /** @description Not ids, or too many */
            400: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    calendar_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The calendar */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ShopCalendar"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    calendar_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CalendarPut"];
            };
        };
        responses: {
            /** @description As it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ShopCalendar"];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    calendar_countries: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Their English names, in order */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": string[];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    capacity_show: {
        parameters: {
            query?: {
                /** @description Which span; the weekend where absent. */
                span?: "tonight" | "saturday" | "sunday" | "weekend" | "long_weekend";
                /** @description What is drawn with: the same seed gives the same answer. */
                seed?: number;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The outlook */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CapacityOutlook"];
                };
            };
            /** @description No such span */
            400: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description There is no long weekend near */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    capacity_setting_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The settings */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CapacitySettings"];
                };
            };
        };
    };
    capacity_setting_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CapacitySettingsPut"];
            };
        };
        responses: {
            /** @description As they are now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CapacitySettings"];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    weather_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WeatherPut"];
            };
        };
        responses: {
            /** @description Entered */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["WeatherPut"];
                };
            };
            /** @description Only for those who schedule */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Nobody would believe it */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    check_run: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Case"];
            };
        };
        responses: {
            /** @description The verdict */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Verdict"];
                };
            };
            /** @description Not a case */
            400: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description It could lead the caller, who reads blind */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The case is too large */
            413: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description What is wrong with the case, and where */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    circuit_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The shop's own first, by name */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CircuitListed"][];
                };
            };
        };
    };
    circuit_add: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CircuitAdd"];
            };
        };
        responses: {
            /** @description Added */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CircuitListed"];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description There is a newer version by now */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description What is wrong, each with its line */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    circuit_look: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CircuitDraft"];
            };
        };
        responses: {
            /** @description The circuit, ready to draw */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CircuitLooked"];
                };
            };
            /** @description What is wrong, each with its line */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    circuit_show: {
        parameters: {
            query?: {
                /** @description Of the shop's own; the latest where absent */
                version?: number;
            };
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The circuit */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Circuit"];
                };
            };
            /** @description No circuit of that name */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    circuit_file: {
        parameters: {
            query?: {
                /** @description Of the shop's own; the latest where absent */
                version?: number;
            };
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The file */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CircuitFile"];
                };
            };
            /** @description No circuit of that name */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    circuit_units: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description By customer and label; at most 1,000 */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CircuitUnit"][];
                };
            };
        };
    };
    circuit_versions: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Newest first */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CircuitVersion"][];
                };
            };
        };
    };
    circuit_withdraw: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CircuitWithdraw"];
            };
        };
        responses: {
            /** @description Withdrawn */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CircuitListed"];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description None of the shop's own */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No reason given */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    customer_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The customers */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Customer"][];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    customer_add: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CustomerAdd"];
            };
        };
        responses: {
            /** @description Added */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Customer"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    customer_search: {
        parameters: {
            query?: {
                /** @description 2 to 80 characters; every word must be found. Nobody is, where it is empty. */
                q?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Those who match */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CustomerFinds"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too short or too long a text */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    customer_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The customer */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The customer */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CustomerWhole"];
                };
            };
            /** @description No such customer */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    customer_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The customer */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CustomerPatch"];
            };
        };
        responses: {
            /** @description As it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Customer"];
                };
            };
            /** @description No such customer */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Someone changed it meanwhile */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    site_add: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The customer */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SiteAdd"];
            };
        };
        responses: {
            /** @description Added */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Site"];
                };
            };
            /** @description No such customer */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    delegates_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The soonest to end first */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Delegate"][];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    demo_sign_ins: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The sign-ins */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["DemoSignIn"][];
                };
            };
        };
    };
    feed_read: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                token: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The calendar */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "text/calendar": string;
                };
            };
            /** @description Not one of ours, or ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too many tries */
            429: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    shop_found_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Counts and factors */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ShopFound"];
                };
            };
        };
    };
    link_revoke: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Ended */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestLink"];
                };
            };
            /** @description Neither its maker, nor the requester, nor a manager */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such link in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_read_commit: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewRead"];
            };
        };
        responses: {
            /** @description The case as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestCaseShape"];
                };
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not this guest's to read */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_case: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description As the guest may see it */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestCaseShape"];
                };
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_code_send: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["GuestDetails"];
            };
        };
        responses: {
            /** @description It is on its way */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestCodeSent"];
                };
            };
            /** @description The link is unknown, ended, or too old */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The address is of the shop's own people, or the link is somebody else's */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too many codes or tries */
            429: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_countersign: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewCountersignature"];
            };
        };
        responses: {
            /** @description The case as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestCaseShape"];
                };
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not this guest's to sign */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_decline: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Reason"];
            };
        };
        responses: {
            /** @description Said; the link has ended */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No reason given */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_invitation: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["GuestToken"];
            };
        };
        responses: {
            /** @description It stands */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestInvitation"];
                };
            };
            /** @description Unknown, ended, or too old */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too many tries */
            429: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_ticket: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The ticket */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["TicketShape"];
                };
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_send_back: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SendBack"];
            };
        };
        responses: {
            /** @description The case as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestCaseShape"];
                };
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not this guest's to send back */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_session_open: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["GuestCode"];
            };
        };
        responses: {
            /** @description In */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description The link is unknown, ended, or too old */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The link or the request has that guest already */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not the code, or it is over */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too many tries */
            429: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_take: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody?: {
            content: {
                "application/json": components["schemas"]["Nothing"] | null;
            };
        };
        responses: {
            /** @description The case as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestCaseShape"];
                };
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_thread: {
        parameters: {
            query?: {
                /** @description The last message number already held; 0 or nothing for none. */
                after?: number;
                /** @description How many messages at most. */
                limit?: number;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The messages after the number */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ThreadShape"];
                };
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The blind read comes first */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_say: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewMessage"];
            };
        };
        responses: {
            /** @description Stored */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["MessageShape"];
                };
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The blind read comes first */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description It says nothing, or too much */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    guest_mark: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewMark"];
            };
        };
        responses: {
            /** @description Kept */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description No guest, or the link has ended */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    health_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Well */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Health"];
                };
            };
            /** @description The database does not answer */
            503: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    intake_show: {
        parameters: {
            query?: {
                /** @description A smell of gas. */
                gas_smell?: ("yes" | "no" | "unsure") | null;
                /** @description Smoke, sparks, a smell of burning. */
                smoke?: ("yes" | "no" | "unsure") | null;
                /** @description A carbon monoxide alarm that sounds. */
                co_alarm?: ("yes" | "no" | "unsure") | null;
                /** @description No heat or no cooling at all. */
                no_heat_cool?: ("yes" | "no" | "unsure") | null;
                /** @description Somebody who cannot be without it. */
                vulnerable?: ("yes" | "no" | "unsure") | null;
                /** @description Water coming out. */
                water?: ("yes" | "no" | "unsure") | null;
                /** @description Food or medicine stored in it. */
                food?: ("yes" | "no" | "unsure") | null;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Questions, class and usual minutes */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["IntakePage"];
                };
            };
            /** @description Not an answer */
            400: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_add: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["JobAdd"];
            };
        };
        responses: {
            /** @description Taken */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            /** @description Not for others */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such unit or person */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The person is planned elsewhere then */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The job */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The job */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JobWhole"];
                };
            };
            /** @description No such job */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The job */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["JobPatch"];
            };
        };
        responses: {
            /** @description As it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            /** @description Not theirs to change */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Someone changed it meanwhile, or not from this state */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_assign: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The job */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["AssignmentPut"];
            };
        };
        responses: {
            /** @description As it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            /** @description Not theirs to give out */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job or person */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The person is planned elsewhere then, or someone changed it */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_decline: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["JobDecline"];
            };
        };
        responses: {
            /** @description The ladder as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Ladder"] | null;
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not asked, or answered already */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A reason that says too little */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_history: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The job */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Its history */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JobEvent"][];
                };
            };
            /** @description No such job */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    holdover_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The holdover */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Holdover"] | null;
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    holdover_add: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["HoldoverAdd"];
            };
        };
        responses: {
            /** @description Deferred */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Deferred"];
                };
            };
            /** @description Not the caller's job, or it takes a manager */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Closed, or changed meanwhile */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Questions not answered, or values that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    holdover_end: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The holdover as it ended */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Holdover"] | null;
                };
            };
            /** @description Not the caller's job */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not deferred */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    holdover_asks: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Measures and questions */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["HoldoverAsks"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_ladder_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The ladder, with what each step did */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Ladder"] | null;
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_pin: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The job */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PinPut"];
            };
        };
        responses: {
            /** @description As asked */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PinPut"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description It has no person or no time */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    ask_answer: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                job_id: string;
                /** @description The ask's message */
                ask_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["FilledAsk"];
            };
        };
        responses: {
            /** @description Kept; the evidence as it is now */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Evidence"];
                };
            };
            /** @description Not a technician, or owes a blind read */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job or ask in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Answered already, or the job is closed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description What is wrong with the reading, and where */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    evidence_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The evidence */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Evidence"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_found_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Newest first */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JobFound"];
                };
            };
            /** @description The caller could still read the evidence blind */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    job_found_say: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SayFound"];
            };
        };
        responses: {
            /** @description Kept; everything said on the job */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JobFound"];
                };
            };
            /** @description Neither a technician nor somebody who manages */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A condemn request on the job is open, or it was called off */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description What the circuit lists instead */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    observation_add: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["AddObservation"];
            };
        };
        responses: {
            /** @description Kept; the evidence as it is now */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Evidence"];
                };
            };
            /** @description Not a technician */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The job is closed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The circuit knows no such sign */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    photo_keep: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewPhoto"];
            };
        };
        responses: {
            /** @description Kept */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptPhoto"];
                };
            };
            /** @description The caller owes a blind read on the job */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The job has as many as it can have */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The file is too large */
            413: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No picture that is taken, and why */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    reading_add: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["AddReading"];
            };
        };
        responses: {
            /** @description Kept; the evidence as it is now */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Evidence"];
                };
            };
            /** @description Not a technician */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The job is closed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description What is wrong with the reading, and where */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_make: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewRequest"];
            };
        };
        responses: {
            /** @description Made, and judged */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not a technician, or an open request on the job must be read blind first */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description There is an open one for that component */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description What is wrong with the claim, and where */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    test_plan_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The plan */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["TestPlan"];
                };
            };
            /** @description The caller could still read the evidence blind */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    thread_show: {
        parameters: {
            query?: {
                /** @description The last message number already held; 0 or nothing for none. */
                after?: number;
                /** @description How many messages at most. */
                limit?: number;
            };
            header?: never;
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The messages after the number */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ThreadShape"];
                };
            };
            /** @description The caller owes a blind read on the job */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    thread_say: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewMessage"];
            };
        };
        responses: {
            /** @description Stored */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["MessageShape"];
                };
            };
            /** @description The caller owes a blind read on the job */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The key stored another message */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description It says nothing, too much, or quotes no reading of the job */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    thread_mark: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                job_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewMark"];
            };
        };
        responses: {
            /** @description Kept */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description No such job in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    ladders_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The ladders */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LadderSetting"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    ladders_save: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["LaddersPut"];
            };
        };
        responses: {
            /** @description As they are now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LadderSetting"];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Somebody saved others meanwhile */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Delays that do not rise, a step that reaches nobody, … */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    ladders_preview: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["LaddersAsk"];
            };
        };
        responses: {
            /** @description What would happen */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LadderStory"];
                };
            };
            /** @description Only for those who give out work or manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Ladders that could not be saved */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    ticket_give: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The ticket */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["TicketShape"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    mail_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The mail */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Mail"][];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    me_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The caller */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Me"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    meter_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Those in use first, by label */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["MeterHeld"][];
                };
            };
        };
    };
    meter_add: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["MeterPut"];
            };
        };
        responses: {
            /** @description Added */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["MeterHeld"];
                };
            };
            /** @description Not in the caller's van */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Another has its label */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    meter_change: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["MeterChange"];
            };
        };
        responses: {
            /** @description As it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["MeterHeld"];
                };
            };
            /** @description Not in the caller's van */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such meter */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Changed meanwhile, or another has its label */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    person_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The people */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Person"][];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    person_add: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PersonAdd"];
            };
        };
        responses: {
            /** @description Added */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Person"];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The e-mail address is taken */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    person_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The person */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PersonPatch"];
            };
        };
        responses: {
            /** @description As they are now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Person"];
                };
            };
            /** @description Not theirs to change */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such person */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The last owner */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    delegate_name: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["DelegateName"];
            };
        };
        responses: {
            /** @description Who may approve now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Delegate"][];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such person in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description They manage themselves, or are not at work */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not an amount, or too long */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    delegate_drop: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Who may approve now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Delegate"][];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such person in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    quiet_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description What holds for them */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PersonQuiet"];
                };
            };
            /** @description No such person in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    quiet_put: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PersonQuietPut"];
            };
        };
        responses: {
            /** @description What holds for them now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PersonQuiet"];
                };
            };
            /** @description Somebody else's */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such person in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not hours, or no zone */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    photo_show: {
        parameters: {
            query?: {
                /** @description The small one, for a list. */
                preview?: boolean;
            };
            header?: never;
            path: {
                photo_id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The picture */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "image/jpeg": number[];
                };
            };
            /** @description The caller owes a blind read on the job */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such photo in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    plan_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Proposals */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PlanRow"][];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    plan_ask: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PlanAsk"];
            };
        };
        responses: {
            /** @description Proposed; nothing is changed yet */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Plan"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too much for one plan */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A span that cannot be planned */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The search failed */
            503: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    plan_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The plan */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The plan */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Plan"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such plan */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    plan_drop: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The plan */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Let go */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Plan"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such plan */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description It is settled already */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    plan_take: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The plan */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PlanTake"];
            };
        };
        responses: {
            /** @description Taken */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Plan"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such plan */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The board has changed meanwhile, or a slot has passed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A job that the plan does not change */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    plan_undo: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The plan */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description As it was before */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Plan"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such plan */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Something of it has begun or was changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    reading_strike: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                reading_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["StrikeReading"];
            };
        };
        responses: {
            /** @description Struck; the evidence as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Evidence"];
                };
            };
            /** @description Not the caller's to strike */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such reading in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Struck already, or the job is closed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No reason given */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    pair_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description By pair, those with most reads first */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ReaderPair"][];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_list: {
        parameters: {
            query?: {
                /** @description States, separated by commas; every state when absent. */
                state?: string;
                /** @description Only those that the caller made or reads. */
                mine?: boolean;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description As the caller may see them */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"][];
                };
            };
            /** @description No such state */
            400: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description As the caller may see it */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_approve: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Approve"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_ask: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["AskOne"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not the requester, nor a manager who sees the claim */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Asked already, or no reader is looked for */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description That person cannot read it */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_read_commit: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewRead"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_candidates: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Who may and who may not */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CandidateList"];
                };
            };
            /** @description The claim is kept from the caller */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_countersign: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewCountersignature"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_decline: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Decline"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_decline_read: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Reason"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not asked, or no reader is looked for */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No reason given */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    link_list: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The links */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestLink"][];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    link_make: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["NewGuestLink"];
            };
        };
        responses: {
            /** @description The link; a repeat of the key gets it without its token */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GuestLinkMade"];
                };
            };
            /** @description Neither technician nor manager */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A draft, ended, or links enough */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_hand_on: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["HandOn"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description That person cannot read it */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_override_isolation: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Reason"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_overturn: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Overturn"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_send_back: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SendBack"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_stand_aside: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody?: {
            content: {
                "application/json": components["schemas"]["Nothing"] | null;
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_submit: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody?: {
            content: {
                "application/json": components["schemas"]["Nothing"] | null;
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_take: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody?: {
            content: {
                "application/json": components["schemas"]["Nothing"] | null;
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    request_withdraw: {
        parameters: {
            query?: never;
            header: {
                "Idempotency-Key": string;
            };
            path: {
                request_id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Reason"];
            };
        };
        responses: {
            /** @description The request as it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Request"];
                };
            };
            /** @description Not this caller's move */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such request in the shop */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Not in this state, or the evidence changed */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    rota_show: {
        parameters: {
            query?: {
                /** @description From when; the beginning of today where absent. */
                from?: string;
                /** @description Until when; five weeks later where absent. */
                to?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The entries that stand, by time */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Rota"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    duty_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Everybody with an entry that covers now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["DutyNow"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    entry_add: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["RotaEntryAdd"];
            };
        };
        responses: {
            /** @description Put in, with what it breaks */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RotaEntryDone"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such person */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description They have another entry then, or it breaks their rest */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    entry_remove: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The entry */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: {
            content: {
                "application/json": components["schemas"]["RotaEntryRemove"] | null;
            };
        };
        responses: {
            /** @description Taken out */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such entry stands */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    fairness_show: {
        parameters: {
            query?: {
                /** @description A moment in it; now where absent. */
                at?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Each technician, by name */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Fairness"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    feed_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Whether there is one */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RotaFeed"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    feed_new: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The link, which is shown this once */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RotaFeed"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    feed_drop: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description There is none any more */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RotaFeed"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    leave_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Open asks first */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Leave"][];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    leave_ask: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["LeaveAdd"];
            };
        };
        responses: {
            /** @description Asked for */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Leave"];
                };
            };
            /** @description Asked for or had already */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    leave_grant: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The ask */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: {
            content: {
                "application/json": components["schemas"]["RotaWhy"] | null;
            };
        };
        responses: {
            /** @description Granted */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Leave"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such ask */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Answered already */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    leave_refuse: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The ask */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: {
            content: {
                "application/json": components["schemas"]["RotaWhy"] | null;
            };
        };
        responses: {
            /** @description Refused */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Leave"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such ask */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Answered already */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A reason is needed */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    leave_withdraw: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The ask */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: {
            content: {
                "application/json": components["schemas"]["RotaWhy"] | null;
            };
        };
        responses: {
            /** @description Withdrawn */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Leave"];
                };
            };
            /** @description Not the caller's */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such ask */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Answered already */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    apply_pattern: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PatternApply"];
            };
        };
        responses: {
            /** @description What was done, or would be */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PatternApplied"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such person */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description It meets what stands, or breaks rest */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    second_open: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SecondOpen"];
            };
        };
        responses: {
            /** @description Open */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["SecondOpened"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description It is open already */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    second_close: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Closed */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    swap_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The offers */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Swap"][];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    swap_offer: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SwapAdd"];
            };
        };
        responses: {
            /** @description Offered */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Swap"];
                };
            };
            /** @description Not the caller's duty */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such duty or person */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description It has begun, is offered, or would break rest or cover */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    swap_accept: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The offer */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Accepted */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Swap"];
                };
            };
            /** @description For somebody else to accept */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such offer */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Settled, too late, or it would break rest or cover */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    swap_decline: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The offer */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: {
            content: {
                "application/json": components["schemas"]["RotaWhy"] | null;
            };
        };
        responses: {
            /** @description Declined */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Swap"];
                };
            };
            /** @description Not made to the caller */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such offer */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Settled, or too late */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    swap_withdraw: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The offer */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Withdrawn */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Swap"];
                };
            };
            /** @description Not the caller's */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description No such offer */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Settled, or too late */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    rule_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The rules */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Rules"];
                };
            };
        };
    };
    rule_add: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["RuleNew"];
            };
        };
        responses: {
            /** @description The rule */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Rule"];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description What is wrong with it, and where */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    rule_check: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["ConditionCheck"];
            };
        };
        responses: {
            /** @description What is wrong; nothing when it can be saved */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ConditionChecked"];
                };
            };
        };
    };
    rule_rehearse: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["RuleTry"];
            };
        };
        responses: {
            /** @description What it would have done */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RuleRehearsal"];
                };
            };
            /** @description Only for those who schedule */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description What is wrong with it, and where */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    rule_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The rule */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RuleStory"];
                };
            };
            /** @description No such rule */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    rule_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["RuleChange"];
            };
        };
        responses: {
            /** @description The rule */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Rule"];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Somebody changed it meanwhile */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description What is wrong with it, and where */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    session_open: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SignIn"];
            };
        };
        responses: {
            /** @description Signed in */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["SessionOpened"];
                };
            };
            /** @description Wrong address or password */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too many tries, or the address is locked */
            429: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    session_end: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Signed out, also when nobody was signed in */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
        };
    };
    session_refresh: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Refreshed */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["SessionOpened"];
                };
            };
            /** @description The session is over */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    session_list: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The sessions */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Session"][];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    session_revoke: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The session */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Ended */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description No such session of yours */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    shop_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The shop */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Shop"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    shop_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["ShopPatch"];
            };
        };
        responses: {
            /** @description As it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Shop"];
                };
            };
            /** @description Only for those who manage */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    threshold_changes: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Newest first */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ThresholdChange"][];
                };
            };
        };
    };
    site_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The site */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SitePatch"];
            };
        };
        responses: {
            /** @description As it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Site"];
                };
            };
            /** @description No such site */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Someone changed it meanwhile */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    unit_add: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The site */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["UnitAdd"];
            };
        };
        responses: {
            /** @description Added */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["UnitHeld"];
                };
            };
            /** @description No such site */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    standing_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description What stands */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Standing"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    thread_search: {
        parameters: {
            query?: {
                /** @description Words; "quoted words" follow each other, -word must not be there. */
                q?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The messages found */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["FoundMessage"][];
                };
            };
            /** @description Too much to search for */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    unit_show: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The unit */
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The unit */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["UnitHeld"];
                };
            };
            /** @description No such unit */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    unit_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path: {
                /** @description The unit */
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["UnitPatch"];
            };
        };
        responses: {
            /** @description As it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["UnitHeld"];
                };
            };
            /** @description No such unit */
            404: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Someone changed it meanwhile, or its circuit is in use */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    ways_show: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Roads */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Ways"];
                };
            };
            /** @description Not signed in */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    ways_change: {
        parameters: {
            query?: never;
            header: {
                /** @description A fresh UUID for each new write */
                "Idempotency-Key": string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WaysPatch"];
            };
        };
        responses: {
            /** @description As it is now */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Ways"];
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Some values or lines cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    ways_table: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description from,to,minutes */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "text/csv": string;
                };
            };
            /** @description Only for those who give out work */
            403: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too many places for one table */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    worse_answer: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WorseAnswer"];
            };
        };
        responses: {
            /** @description The shop knows */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["WorseLink"];
                };
            };
            /** @description Not one of ours */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description The job is back on the shop's list already */
            409: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description A value that cannot be accepted */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too many tries */
            429: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
    worse_look: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WorseToken"];
            };
        };
        responses: {
            /** @description What it is about */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["WorseLink"];
                };
            };
            /** @description Not one of ours */
            401: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
            /** @description Too many tries */
            429: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Problem"];
                };
            };
        };
    };
}
