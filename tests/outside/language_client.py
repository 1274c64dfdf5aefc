"""A client of a language server (Language Server Protocol 3.17, Microsoft) over its pipes.

It sends what an editor sends, and waits for what an editor would show.
"""

from __future__ import annotations

import json
import queue
import subprocess
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any

LONGEST_WAIT = 60
"""Seconds in which a server must answer, on a machine that is busy."""


class LanguageClient:
    """One running server, with the settings that an editor's user has made."""

    def __init__(self, command: Sequence[str], folder: Path, settings: dict[str, Any]) -> None:
        self.folder = folder
        self.settings = settings
        self.diagnostics: dict[str, list[dict[str, Any]]] = {}
        self._messages: queue.Queue[dict[str, Any] | None] = queue.Queue()
        self._sent = self._opened = 0
        self._server = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        threading.Thread(target=self._read, daemon=True).start()
        self.request(
            "initialize",
            {
                "processId": None,
                "rootUri": folder.as_uri(),
                "capabilities": {
                    "workspace": {"configuration": True},
                    "textDocument": {"hover": {"contentFormat": ["markdown"]}},
                },
            },
        )
        self._send({"method": "initialized", "params": {}})

    def close(self) -> None:
        """End the server."""
        self._server.kill()
        self._server.wait()
        for pipe in (self._server.stdin, self._server.stdout):
            assert pipe is not None
            pipe.close()

    def mistakes(self, text: str) -> list[tuple[int, str]]:
        """(line, message) of each mistake that is marked in a text."""
        uri = self._open(text)
        while uri not in self.diagnostics:
            self._handle(self._next())
        return [(d["range"]["start"]["line"] + 1, d["message"]) for d in self.diagnostics[uri]]

    def hover(self, text: str, words: str) -> str:
        """What is shown where these words first are in a text."""
        answer = self.request("textDocument/hover", self._at(text, text.index(words) + 1))
        contents = answer["contents"] if answer else {"value": ""}
        return str(contents["value"])

    def offered(self, before: str, after: str) -> list[str]:
        """What is offered to write between two parts of a text."""
        answer = self.request("textDocument/completion", self._at(before + after, len(before)))
        return [item["label"] for item in (answer or {"items": []})["items"]]

    def request(self, method: str, params: dict[str, Any]) -> Any:
        """The answer to a request."""
        self._sent += 1
        number = self._sent
        self._send({"id": number, "method": method, "params": params})
        while True:
            message = self._next()
            if message.get("id") == number and "method" not in message:
                assert "error" not in message, message
                return message["result"]
            self._handle(message)

    def _at(self, text: str, index: int) -> dict[str, Any]:
        before = text[:index]
        position = {"line": before.count("\n"), "character": len(before.rpartition("\n")[2])}
        return {"textDocument": {"uri": self._open(text)}, "position": position}

    def _open(self, text: str) -> str:
        self._opened += 1
        uri = (self.folder / f"{self._opened}.yaml").as_uri()
        document = {"uri": uri, "languageId": "yaml", "version": 1, "text": text}
        self._send({"method": "textDocument/didOpen", "params": {"textDocument": document}})
        return uri

    def _handle(self, message: dict[str, Any]) -> None:
        method, params = message.get("method"), message.get("params", {})
        if method == "textDocument/publishDiagnostics":
            self.diagnostics[params["uri"]] = params["diagnostics"]
        elif "id" in message:
            # The server asks too: for settings, and whether it may watch files.
            sections = [item.get("section", "") for item in params.get("items", ())]
            answer = [self.settings.get(section) for section in sections]
            settings = answer if method == "workspace/configuration" else None
            self._send({"id": message["id"], "result": settings})

    def _send(self, message: dict[str, Any]) -> None:
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        assert self._server.stdin is not None
        self._server.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        self._server.stdin.flush()

    def _next(self) -> dict[str, Any]:
        try:
            message = self._messages.get(timeout=LONGEST_WAIT)
        except queue.Empty:
            raise AssertionError("the language server does not answer") from None
        assert message is not None, "the language server has ended"
        return message

    def _read(self) -> None:
        stream = self._server.stdout
        assert stream is not None
        while header := stream.readline():
            length = int(header.partition(b":")[2])
            while stream.readline().strip():
                pass
            self._messages.put(json.loads(stream.read(length)))
        self._messages.put(None)
