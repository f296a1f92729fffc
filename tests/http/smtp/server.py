"""A mail server that prints each mail that it takes, as one line of JSON, and keeps none.

    server.py PORT

It says "ready" when it listens, and ends with its standard input.
"""

import email
import email.policy
import json
import sys

from aiosmtpd.controller import Controller


class Printing:
    async def handle_DATA(self, server, session, envelope):
        message = email.message_from_bytes(envelope.content, policy=email.policy.default)
        mail = {
            "from": envelope.mail_from,
            "to": envelope.rcpt_tos,
            "headers": {name.lower(): value for name, value in message.items()},
            "text": message.get_content(),
            "raw": envelope.content.decode("utf-8", "replace"),
        }
        print(json.dumps(mail), flush=True)
        return "250 taken"


controller = Controller(Printing(), hostname="127.0.0.1", port=int(sys.argv[1]))
controller.start()
print("ready", flush=True)
sys.stdin.read()
controller.stop()
