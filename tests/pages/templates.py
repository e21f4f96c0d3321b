"""Which fields a template reads: its syntax tree walked along the types of the view object.

A name that is neither `view` nor `frame` nor bound in the template, or a field that its class does not have, or that
the class's docstring does not mention, is a fault.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Iterator, Mapping
from typing import Any

from jinja2 import nodes

from api.pages.base import Frame, environment

SCALARS = (str, int, bool, float)
UNKNOWN = object()  # a value whose type nothing says; nothing may be read off it
Scope = Mapping[str, Any]


def faults_of(template: str, view: type) -> list[str]:
    """What the template reads and should not."""
    return list(_Walk(template).body(_tree(template).body, {"view": view, "frame": Frame}))


def _tree(template: str) -> nodes.Template:
    jinja = environment()
    assert jinja.loader is not None
    return jinja.parse(jinja.loader.get_source(jinja, template)[0])


class _Walk:
    def __init__(self, template: str):
        self.template = template

    def body(self, found: list[nodes.Node], scope: Scope) -> Iterator[str]:
        for node in found:
            yield from self.node(node, scope)

    def node(self, node: nodes.Node, scope: Scope) -> Iterator[str]:
        if isinstance(node, nodes.For):
            yield from self.loop(node, scope)
        elif isinstance(node, (nodes.Extends, nodes.Include)):
            name = node.template
            assert isinstance(name, nodes.Const)
            yield from _Walk(name.value).body(_tree(name.value).body, scope)
        elif isinstance(node, nodes.Expr):
            yield from self.value(node, scope)
        else:
            for child in node.iter_child_nodes():
                yield from self.node(child, scope)

    def loop(self, node: nodes.For, scope: Scope) -> Iterator[str]:
        yield from self.value(node.iter, scope)
        inner = dict(scope) | {"loop": UNKNOWN}
        item = self.item_type(node.iter, scope)
        if isinstance(node.target, nodes.Name):
            inner[node.target.name] = item
        elif isinstance(node.target, nodes.Tuple):  # `for name, items in rows | groupby(...)`
            inner |= dict(zip([one.name for one in node.target.items], (str, tuple[item, ...]), strict=True))  # type: ignore[attr-defined,valid-type]
        yield from self.body([*node.body, *node.else_], inner)

    def value(self, node: nodes.Node, scope: Scope) -> Iterator[str]:
        for name in (node, *node.find_all(nodes.Name)):
            if isinstance(name, nodes.Name) and name.name not in scope and name.name not in environment().globals:
                yield f"{self.template}: reads {name.name!r}, which is neither view nor frame"
        for read in (node, *node.find_all(nodes.Getattr)):
            if isinstance(read, nodes.Getattr) and not (isinstance(read.node, nodes.Name) and read.node.name == "loop"):
                owner = self.type_of(read.node, scope)
                yield from self.field(owner, read.attr)

    def field(self, owner: Any, name: str) -> Iterator[str]:
        if not dataclasses.is_dataclass(owner):
            yield f"{self.template}: reads .{name} of {owner}, which is no view"
        elif name not in {one.name for one in dataclasses.fields(owner)}:
            yield f"{self.template}: {getattr(owner, '__name__', owner)} has no field {name!r}"

    def type_of(self, node: nodes.Node, scope: Scope) -> Any:
        if isinstance(node, nodes.Name):
            return scope.get(node.name, UNKNOWN)
        if isinstance(node, nodes.Getattr):
            owner = self.type_of(node.node, scope)
            hints = typing.get_type_hints(owner) if dataclasses.is_dataclass(owner) else {}
            return _without_none(hints.get(node.attr, UNKNOWN))
        if isinstance(node, nodes.Getitem):
            return _item(self.type_of(node.node, scope))
        if isinstance(node, (nodes.Or, nodes.And)):
            return self.type_of(node.left, scope)
        if isinstance(node, nodes.Filter) and node.node is not None:
            return self.type_of(node.node, scope)
        return UNKNOWN

    def item_type(self, node: nodes.Node, scope: Scope) -> Any:
        return _item(self.type_of(node, scope))


def _without_none(hint: Any) -> Any:
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        return next(one for one in typing.get_args(hint) if one is not type(None))
    return hint


def _item(hint: Any) -> Any:
    arguments = typing.get_args(hint)
    return arguments[0] if arguments else UNKNOWN


def undocumented(view: type, seen: set[type] | None = None) -> list[str]:
    """The fields of the page's own classes, from the view downwards, that no docstring names."""
    seen = set() if seen is None else seen
    if view in seen or not dataclasses.is_dataclass(view):
        return []
    seen.add(view)
    own = view.__module__.startswith("api.pages")
    told = view.__doc__ or ""
    found = [f"{view.__name__}.{f.name}" for f in dataclasses.fields(view) if own and f"`{f.name}`" not in told]
    for hint in typing.get_type_hints(view).values():
        for inner in _classes(hint):
            found += undocumented(inner, seen)
    return found


def _classes(hint: Any) -> Iterator[type]:
    if isinstance(hint, type) and not typing.get_args(hint):
        yield hint
    for inner in typing.get_args(hint):
        yield from _classes(inner)
