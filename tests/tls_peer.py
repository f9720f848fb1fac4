"""Makes a certificate in a folder, or asks an https address with that certificate's authority as the only one it trusts.

    tls_peer.py make FOLDER
    tls_peer.py ask FOLDER URL     prints the answer's status, the protocol, the session cookie's flags if any, and the body
"""
import http.client
import ssl
import sys
from pathlib import Path
from urllib.parse import urlsplit

folder = Path(sys.argv[2])
if sys.argv[1] == "make":
    import trustme

    authority = trustme.CA()
    issued = authority.issue_cert("127.0.0.1", "localhost")
    authority.cert_pem.write_to_path(folder / "ca.pem")
    (folder / "chain.pem").write_bytes(b"".join(blob.bytes() for blob in issued.cert_chain_pems))
    issued.private_key_pem.write_to_path(folder / "key.pem")
    trustme.CA().issue_cert("127.0.0.1").private_key_pem.write_to_path(folder / "other-key.pem")
else:
    where = urlsplit(sys.argv[3])
    trust = ssl.create_default_context(cafile=str(folder / "ca.pem"))
    line = http.client.HTTPSConnection(where.hostname, where.port, context=trust, timeout=20)
    line.request("GET", where.path)
    protocol = line.sock.version()
    answer = line.getresponse()
    print(answer.status, protocol, answer.getheader("strict-transport-security", "none"))
    print(answer.read().decode())
