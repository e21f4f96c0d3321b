"""GET /healthz: is the service up, and how much does it know?"""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel, Field

from api.roles import OPEN, needs
from api.workshop import UsesWorkshop

router = APIRouter(tags=["service"])


class Health(BaseModel):
    """The service answers; this is what it has loaded."""

    status: str = Field(examples=["ok"])
    parts: int = Field(description="parts, families and units that the graph knows")
    edges: int = Field(description="edges that the graph knows")


@needs(OPEN)
@router.get("/healthz", summary="Is the service up?")
async def health(workshop: UsesWorkshop) -> Health:
    """`ok`, with the size of the graph."""
    catalogue = workshop.index.catalogue
    return Health(status="ok", parts=len(catalogue.parts), edges=len(catalogue.edges))
