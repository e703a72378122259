"""The language server, used by a client that others wrote: pygls, which reads every message against
the protocol's published types (lsprotocol) and complains about what does not fit them.

    python check.py PROGRAM

PROGRAM is the built groundrule. The library is copied to a folder of its own and changed there.
"""

import asyncio
import pathlib
import shutil
import sys
import tempfile

from lsprotocol import types
from pygls.lsp.client import LanguageClient

ROOT = pathlib.Path(__file__).resolve().parents[3]
BURIAL = "rules/cable_burial.rules"
TOWN = "jurisdictions/aldmoor/sarnfell/velder_mills/place.rules"
PATIENCE = 60


class Editor:
    """A client, the library it works on, and the mistakes it was told of last."""

    def __init__(self, folder):
        self.folder = folder
        self.complaints = []
        self.told = {}
        self.news = asyncio.Condition()
        self.watched = asyncio.Event()
        editor = self

        class Client(LanguageClient):
            def report_server_error(self, error, source):
                editor.complaints.append(f"{source}: {error!r}")

        self.client = Client("an editor", "1")

        @self.client.feature(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
        async def tell(params):
            async with self.news:
                self.told[params.uri] = params
                self.news.notify_all()

        @self.client.feature(types.CLIENT_REGISTER_CAPABILITY)
        def register(params):
            methods = [registration.method for registration in params.registrations]
            assert methods == [types.WORKSPACE_DID_CHANGE_WATCHED_FILES], methods
            self.watched.set()

    def uri(self, name):
        return (self.folder / name).as_uri()

    def text(self, name):
        return (self.folder / name).read_text(encoding="utf-8")

    async def start(self, program):
        await self.client.start_io(program, "language-server")
        watching = types.DidChangeWatchedFilesClientCapabilities(dynamic_registration=True)
        started = await self.client.initialize_async(
            types.InitializeParams(
                capabilities=types.ClientCapabilities(
                    workspace=types.WorkspaceClientCapabilities(did_change_watched_files=watching),
                ),
                workspace_folders=[types.WorkspaceFolder(uri=self.folder.as_uri(), name="library")],
            )
        )
        self.client.initialized(types.InitializedParams())
        return started.capabilities

    def open(self, name, text):
        document = types.TextDocumentItem(
            uri=self.uri(name), language_id="groundrule", version=1, text=text
        )
        self.client.text_document_did_open(types.DidOpenTextDocumentParams(text_document=document))

    def change(self, name, version, text):
        self.client.text_document_did_change(
            types.DidChangeTextDocumentParams(
                text_document=types.VersionedTextDocumentIdentifier(
                    uri=self.uri(name), version=version
                ),
                content_changes=[types.TextDocumentContentChangeWholeDocument(text=text)],
            )
        )

    async def mistakes(self, name, wanted):
        """The codes of the mistakes of a file, once they are what is wanted."""
        uri = self.uri(name)

        def codes():
            return [one.code for one in self.told[uri].diagnostics] if uri in self.told else None

        async with self.news:
            try:
                await asyncio.wait_for(
                    self.news.wait_for(lambda: codes() == wanted), timeout=PATIENCE
                )
            except asyncio.TimeoutError:
                raise AssertionError(f"{name}: {codes()} for {wanted}") from None

    def place(self, name, text, wanted, on):
        before = text[: text.index(wanted) + on]
        line = before.rsplit("\n", 1)[-1]
        return {
            "text_document": types.TextDocumentIdentifier(uri=self.uri(name)),
            "position": types.Position(
                line=before.count("\n"), character=len(line.encode("utf-16-le")) // 2
            ),
        }


async def use(program, folder):
    editor = Editor(folder)
    client = editor.client
    can = await editor.start(program)
    assert can.position_encoding == "utf-16", can.position_encoding
    assert can.hover_provider and can.definition_provider and can.document_formatting_provider
    await asyncio.wait_for(editor.watched.wait(), timeout=PATIENCE)

    # Mistakes come and go.
    burial = editor.text(BURIAL)
    editor.open(BURIAL, burial)
    await editor.mistakes(BURIAL, [])
    wrong = burial.replace("span.cover is at least", "span.depth is at least", 1)
    editor.change(BURIAL, 2, wrong)
    await editor.mistakes(BURIAL, ["check::unknown_fact"])
    editor.change(BURIAL, 3, burial)
    await editor.mistakes(BURIAL, [])

    # What a name means, and where it is declared.
    town = editor.text(TOWN)
    editor.open(TOWN, town)
    await editor.mistakes(TOWN, [])
    hover = await client.text_document_hover_async(
        types.HoverParams(**editor.place(BURIAL, burial, "span.cover is", 6))
    )
    assert hover.contents.kind == types.MarkupKind.Markdown
    assert "measured" in hover.contents.value, hover.contents.value
    hover = await client.text_document_hover_async(
        types.HoverParams(**editor.place(TOWN, town, "greatest_bend", 3))
    )
    assert "360 deg (model) → 270 deg" in hover.contents.value, hover.contents.value
    found = await client.text_document_definition_async(
        types.DefinitionParams(**editor.place(TOWN, town, "raceways.greatest_bend", 12))
    )
    assert found.uri == editor.uri("rules/raceways.rules"), found
    line = editor.text("rules/raceways.rules").splitlines()[found.range.start.line]
    assert line.startswith("limit greatest_bend"), line

    # What may be written next.
    begun = burial.replace("shall   span.cover is at least", "shall   span.", 1)
    editor.change(BURIAL, 4, begun)
    items = await client.text_document_completion_async(
        types.CompletionParams(**editor.place(BURIAL, begun, "shall   span.", 13))
    )
    labels = {item.label for item in items}
    assert {"cover", "wiring", "location"} <= labels, labels

    # The layout is that of the library's files.
    untidy = burial.replace("  shall   ", " shall ")
    editor.change(BURIAL, 5, untidy)
    edits = await client.text_document_formatting_async(
        types.DocumentFormattingParams(
            text_document=types.TextDocumentIdentifier(uri=editor.uri(BURIAL)),
            options=types.FormattingOptions(tab_size=4, insert_spaces=True),
        )
    )
    assert [edit.new_text for edit in edits] == [burial]
    editor.change(BURIAL, 6, burial)
    await editor.mistakes(BURIAL, [])

    # A file that another program changes.
    practice = "shared/sources/practice.rules"
    (folder / practice).write_text(
        editor.text(practice).replace("hazen_williams", "hazen_and_williams"), encoding="utf-8"
    )
    event = types.FileEvent(uri=editor.uri(practice), type=types.FileChangeType.Changed)
    client.workspace_did_change_watched_files(types.DidChangeWatchedFilesParams(changes=[event]))
    head = "rules/flow_and_head.rules"
    cited = editor.text(head).count("cite hazen_williams")
    assert cited > 0
    await editor.mistakes(head, ["check::unknown_name"] * cited)

    await client.shutdown_async(None)
    client.exit(None)
    server = client._server
    status = await asyncio.wait_for(server.wait(), timeout=PATIENCE)
    assert status == 0, status
    assert editor.complaints == [], editor.complaints


def main():
    if len(sys.argv) != 2:
        sys.exit("usage: check.py PROGRAM")
    program = str(pathlib.Path(sys.argv[1]).resolve())
    with tempfile.TemporaryDirectory() as folder:
        library = pathlib.Path(folder).resolve() / "a library"
        for part in ["rules", "jurisdictions", "shared"]:
            shutil.copytree(ROOT / part, library / part)
        asyncio.run(use(program, library))
    print("  the server does what a client asks")


if __name__ == "__main__":
    main()
