"""Serve the provider: `python -m tests.provider PORT BOARD_ADDRESS`.

`POST /mood` sets its mood, `POST /keys` has it change its keys; nobody but tests asks for these.
"""

import gzip
import os
import sys
import time
from collections.abc import Iterator
from typing import Any

os.environ["AUTHLIB_INSECURE_TRANSPORT"] = "1"  # on this machine alone

from authlib.integrations.flask_oauth2 import AuthorizationServer
from authlib.oauth2 import OAuth2Error
from authlib.oauth2.rfc7636 import CodeChallenge
from authlib.oauth2.rfc9207 import IssuerParameter
from authlib.oidc.rpinitiated import EndSessionEndpoint
from flask import Flask, Response, jsonify, redirect, request, session
from joserfc.jwk import KeySet

from server.clock import utc_now
from tests.provider.book import BOOK, CLIENT_ID, Client, new_keys
from tests.provider.tokens import CodeGrant, IdTokens

app = Flask(__name__)
app.secret_key = os.urandom(16)
FORM = """<!doctype html><title>Provider</title><h1>Who are you?</h1><form method="post">
<label>Name <input name="name"></label><button>It is me</button></form>"""


class NamesItself(IssuerParameter):  # type: ignore[misc]  # Authlib ships no types
    """Says whose an answer is, RFC 9207."""

    def get_issuer(self) -> str:
        return str(BOOK.mood.get("answers as", BOOK.issuer))


class Leaving(EndSessionEndpoint):  # type: ignore[misc]  # Authlib ships no types
    """Signs out at the provider."""

    def get_server_jwks(self) -> KeySet:
        return BOOK.keys

    def end_session(self, _request: object) -> None:
        session.clear()


server = AuthorizationServer(app, BOOK.clients.get, lambda *_: None)
server.register_grant(CodeGrant, [CodeChallenge(required=True), IdTokens(require_nonce=True)])
server.register_endpoint(Leaving)
server.register_extension(lambda _: NamesItself()(server))


@app.get("/.well-known/openid-configuration")
def card() -> Any:
    _hang("card")
    if _strays("card"):
        return _poured()
    if BOOK.mood.get("card") is not None:
        return jsonify(BOOK.mood["card"])
    here = BOOK.issuer
    leaving = {} if BOOK.mood.get("keeps people") else {"end_session_endpoint": f"{here}/leave"}
    return jsonify(
        {
            "issuer": here,
            "authorization_endpoint": f"{here}/authorize",
            "token_endpoint": f"{here}/token",
            "jwks_uri": f"{here}/jwks",
            "response_types_supported": ["code"],
            "token_endpoint_auth_methods_supported": [BOOK.auth_method],
            "authorization_response_iss_parameter_supported": True,
        }
        | leaving
        | BOOK.mood.get("card too", {})
    )


@app.get("/jwks")
def jwks() -> Any:
    if _strays("jwks"):
        return _poured()
    return jsonify(BOOK.keys.as_dict())


@app.route("/authorize", methods=["GET", "POST"])
def authorize() -> Any:
    """Ask who it is unless that is known and may be relied on, and send them back."""
    known = session.get("known")
    try:
        grant = server.get_consent_grant(end_user=known)
    except OAuth2Error as refused:
        return server.handle_error_response(None, refused)
    if request.method == "POST":
        name = request.form["name"]
        known = session["known"] = (name, int(utc_now().timestamp())) if name else None
    elif getattr(grant, "prompt", None) == "login" and not BOOK.mood.get("asks nobody"):
        return FORM
    return server.create_authorization_response(grant=grant, grant_user=known)


@app.post("/token")
def token() -> Any:
    _hang("token")
    if _strays("token"):
        return _poured()
    if BOOK.mood.get("token") is not None:
        return Response(BOOK.mood["token"], status=int(BOOK.mood.get("status", 200)))
    return server.create_token_response()


@app.get("/leave")
def leave() -> Any:
    return server.create_endpoint_response("end_session") or redirect("/")


@app.get("/known")
def known() -> Any:
    return jsonify({"known": session.get("known") is not None})


@app.post("/mood")
def mood() -> Any:
    BOOK.mood = request.get_json()
    BOOK.auth_method = BOOK.mood.get("auth method", "client_secret_basic")
    return jsonify({})


@app.post("/keys")
def keys() -> Any:
    BOOK.keys = new_keys()
    return jsonify({})


def _hang(where: str) -> None:
    if BOOK.mood.get("hangs") == where:
        time.sleep(30)


def _strays(where: str) -> bool:
    return where in {BOOK.mood.get("pours"), BOOK.mood.get("packs")}


def _poured() -> Response:
    """An answer without end, or one packed so that it opens to a hundred times what it holds."""
    if BOOK.mood.get("packs"):
        packed = gzip.compress(b" " * 50_000_000)
        return Response(packed, headers={"content-encoding": "gzip"})

    def pour() -> Iterator[bytes]:
        yield b"{"
        while True:
            yield b" " * 65_536

    return Response(pour(), mimetype="application/json")


if __name__ == "__main__":
    port, board = int(sys.argv[1]), sys.argv[2]
    BOOK.issuer = f"http://127.0.0.1:{port}"
    BOOK.clients[CLIENT_ID] = Client(f"{board}/sign-in/back", f"{board}/sign-in")
    app.run("127.0.0.1", port, threaded=True)
