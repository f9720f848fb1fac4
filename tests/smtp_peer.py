"""A real mail server on loopback for the mail tests, written with aiosmtpd; certificates of its own by trustme.

    python3 tests/smtp_peer.py FOLDER

It writes FOLDER/ca.pem, opens its doors, and prints one line of JSON that names their ports. Every message that comes in is read
back by Python's own mail parser. Commands on standard input, one a line, each answered by one line of JSON:

    received   everything that came in since the last question, parsed
    eml PATH   the same reading of a file

It ends when standard input is closed. Doors: plain; starttls (sign-in required); tls (sign-in required);
later (refuses each recipient with 451 the first two times); never (550); slow (takes the connection and stays silent);
relay (530 for everybody); other_ca (TLS by an authority nobody trusts).
"""

import asyncio
import base64
import email
import email.policy
import json
import ssl
import sys
import warnings
from pathlib import Path

import trustme
from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword

USER, PASSWORD = b"office@nettlebend.example", "p@ss:wörd/%".encode()
RECEIVED = []


def parse(raw):
    message = email.message_from_bytes(raw, policy=email.policy.default)
    defects = [repr(d) for d in message.defects]
    for part in message.walk():
        defects += [repr(d) for d in part.defects]
        for value in part.values():
            defects += [repr(d) for d in getattr(value, "defects", [])]
    text, html = message.get_body(("plain",)), message.get_body(("html",))
    addresses = lambda name: [[a.display_name, a.addr_spec] for a in message[name].addresses] if message[name] else []
    return {
        "headers": list(message.keys()),
        "subject": str(message["subject"]),
        "from": addresses("from"),
        "to": addresses("to"),
        "reply_to": addresses("reply-to"),
        "message_id": str(message["message-id"]),
        "date": message["date"].datetime.isoformat() if message["date"] else "",
        "auto_submitted": str(message["auto-submitted"]),
        "text": text.get_content() if text else "",
        "html": html.get_content() if html else "",
        "attachments": [
            {"name": a.get_filename(), "type": a.get_content_type(), "base64": base64.b64encode(a.get_payload(decode=True)).decode()}
            for a in message.iter_attachments()
        ],
        "types": [p.get_content_type() for p in message.walk()],
        "defects": defects,
        "longest_line": max(len(line) for line in raw.split(b"\r\n")),
        "bare_line_ends": raw.replace(b"\r\n", b"").count(b"\n") + raw.replace(b"\r\n", b"").count(b"\r"),
        "base64": base64.b64encode(raw).decode(),
    }


class Handler:
    def __init__(self, door, refuse=None, times=None):
        self.door, self.refuse, self.times, self.seen = door, refuse, times, {}

    async def handle_RCPT(self, server, session, envelope, address, options):
        self.seen[address] = self.seen.get(address, 0) + 1
        if self.refuse and (self.times is None or self.seen[address] <= self.times):
            return self.refuse
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        read = parse(envelope.original_content)
        read |= {"door": self.door, "tls": session.ssl is not None or server.transport.get_extra_info("ssl_object") is not None, "signed_in": bool(session.authenticated)}
        read |= {"mail_from": envelope.mail_from, "rcpt_tos": envelope.rcpt_tos}
        RECEIVED.append(read)
        return "250 taken"


def authenticator(server, session, envelope, mechanism, data):
    good = isinstance(data, LoginPassword) and data.login == USER and data.password == PASSWORD
    # handled=False: else the server never answers a refused sign-in
    return AuthResult(success=True) if good else AuthResult(success=False, handled=False)


class Silent(asyncio.Protocol):
    """Takes the connection and never says a word."""

    def connection_made(self, transport):
        self.transport = transport


class Relay(SMTP):
    async def smtp_MAIL(self, arg):
        await self.push("530 5.7.0 Authentication required")


async def main(folder):
    warnings.filterwarnings("ignore", "Requiring AUTH")  # the tls door is private from the first byte
    ours, other = trustme.CA(), trustme.CA()
    ours.cert_pem.write_to_path(str(folder / "ca.pem"))

    def context(authority):
        tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        authority.issue_cert("127.0.0.1", "localhost").configure_cert(tls)
        return tls

    loop, ports, keep = asyncio.get_running_loop(), {}, []

    async def door(name, handler=None, tls=None, kind=SMTP, **settings):
        make = lambda: kind(handler or Handler(name), hostname="peer.example", loop=loop, **settings)
        server = await loop.create_server(make, "127.0.0.1", 0, ssl=tls)
        ports[name] = server.sockets[0].getsockname()[1]
        keep.append(server)

    sign_in = {"authenticator": authenticator, "auth_required": True}
    await door("plain")
    await door("starttls", tls_context=context(ours), require_starttls=True, **sign_in)
    await door("tls", tls=context(ours), auth_require_tls=False, **sign_in)
    await door("other_ca", tls=context(other))
    await door("later", Handler("later", "451 4.7.1 Please try again", 2))
    await door("never", Handler("never", "550 5.1.1 No such mailbox"))
    await door("relay", kind=Relay)
    slow = await loop.create_server(Silent, "127.0.0.1", 0)
    ports["slow"] = slow.sockets[0].getsockname()[1]
    keep.append(slow)
    print(json.dumps(ports), flush=True)

    while True:
        line = (await loop.run_in_executor(None, sys.stdin.readline)).rstrip("\n")
        if line == "":
            return
        if line == "received":
            answer, RECEIVED[:] = list(RECEIVED), []
        else:
            answer = parse(Path(line.removeprefix("eml ")).read_bytes())
        print(json.dumps(answer), flush=True)


asyncio.run(main(Path(sys.argv[1])))
