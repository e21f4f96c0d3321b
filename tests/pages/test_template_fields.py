"""Every value that a template shows is a documented field of the page's view object."""

from __future__ import annotations

import re

import pytest

from api.pages.ask import AskView
from api.pages.base import TEMPLATES, ErrorView, Frame
from api.pages.compare_view import CompareView
from api.pages.first_run import EmptyView, HomeView, TourView
from api.pages.glossary import GlossaryView
from api.pages.in_words import InWordsView
from api.pages.job_view import JobBookView
from api.pages.keeping import KeepingView
from api.pages.route_view import RouteView
from tests.pages.templates import faults_of, undocumented

VIEWS: dict[str, type] = {
    "ask.html": AskView, "compare.html": CompareView, "no_route.html": CompareView, "route.html": RouteView,
    "home.html": HomeView, "tour.html": TourView, "empty.html": EmptyView, "error.html": ErrorView,
    "keeping.html": KeepingView, "in_words.html": InWordsView,
    "glossary.html": GlossaryView, "job_book.html": JobBookView,
}  # fmt: skip


@pytest.mark.parametrize("template", VIEWS)
def test_a_template_reads_only_fields_of_its_view_and_frame(template: str) -> None:
    assert faults_of(template, VIEWS[template]) == []


ALL_VIEWS: list[type] = sorted({Frame, *VIEWS.values()}, key=lambda view: view.__name__)


@pytest.mark.parametrize("view", ALL_VIEWS)
def test_every_field_of_a_view_is_documented(view: type) -> None:
    assert undocumented(view) == []


def test_a_field_that_the_view_does_not_have_is_found() -> None:
    faults = faults_of("compare.html", HomeView)

    assert "_first.html: HomeView has no field 'first'" in faults


def test_no_template_holds_a_script_a_style_or_a_handler_of_its_own() -> None:
    for file in TEMPLATES.glob("*.html"):
        source = file.read_text(encoding="utf-8")
        assert not re.search(r"<style|<script>|\sstyle=|\son[a-z]+=", source), file.name


@pytest.mark.parametrize("template", VIEWS)
def test_no_template_of_these_marks_text_as_safe(template: str) -> None:
    source = (TEMPLATES / template).read_text(encoding="utf-8")

    assert not re.search(r"\|\s*safe", source)
