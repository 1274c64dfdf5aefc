"""Where the records of a catalogue are in its files."""

from __future__ import annotations

from sitegen.catalogue.findings import Place
from sitegen.catalogue.merge import LIST_SECTIONS
from sitegen.catalogue.model import Catalogue, Record
from sitegen.catalogue.yaml_values import Node, find

_NOWHERE = Node({}, "", 1, 1)


class RecordLocations:
    """The locations of a catalogue's records and values."""

    def __init__(self, root: Node = _NOWHERE, catalogue: Catalogue | None = None) -> None:
        self._root = root
        self._paths: dict[int, tuple[str | int, ...]] = {}
        self._by_name: dict[tuple[type[Record], str], tuple[str | int, ...]] = {}
        # Held, so that no other object can come to have one of these records' identity.
        self._catalogue = catalogue
        for section in LIST_SECTIONS if catalogue else ():
            records = getattr(catalogue, section.replace("-", "_"))
            for index, record in enumerate(records):
                self._paths[id(record)] = (section, index)
                name = getattr(record, "id", None)
                if name is not None:
                    self._by_name.setdefault((type(record), name), (section, index))

    def of(self, record: Record) -> Place:
        """Where a record of one of the list sections begins.

        A record that was changed for an airframe is found by its kind and id; one that is in no
        file is located at the beginning of the first.
        """
        path = self._paths.get(id(record))
        if path is None:
            path = self._by_name.get((type(record), getattr(record, "id", "")), ())
        return find(self._root, path).place

    def at(self, *path: str | int) -> Place:
        """Where the value at a path of field names and list positions is.

        Fields go by their names in the YAML. What is left out is located where its record begins.
        """
        return find(self._root, path).place

    def key_at(self, *path: str | int) -> Place:
        """Where the name of the field at a path is."""
        return find(self._root, path).key_place
