"""The shareable notes, put on an outside SPARQL server by the SPARQL 1.1 Graph Store HTTP Protocol.

The protocol moves one graph at a time, so the published graph is one: the union of the shareable notes'
statements with their provenance, under a name that the shop chooses. PUT replaces it whole: publishing twice is
publishing once. Source: W3C SPARQL 1.1 Graph Store HTTP Protocol, sections 4.2 and 5.3.
"""

from __future__ import annotations

import httpx
import pyoxigraph as ox

from graph.errors import InvalidInput, Problem, StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.exchange import export_quads

TIMEOUT_S = 300.0


def publish(ledger: Ledger, endpoint: str, graph: str = "", client: httpx.Client | None = None) -> int:
    """Replaces `graph` (default `<base>shared`) on the server by what is shareable; the number of statements sent.

    `endpoint`: the server's graph store URL. Raises StoreProblem with the server's words if it refuses.
    """
    if not endpoint.startswith(("http://", "https://")):
        raise InvalidInput([Problem("endpoint", f"expected an http(s) URL, found {endpoint!r}")])
    triples = {quad.triple for quad in export_quads(ledger)}
    body = ox.serialize(sorted(triples, key=str), format=ox.RdfFormat.N_TRIPLES) or b""
    target = graph or f"{ledger.base}shared"
    with client or httpx.Client(timeout=TIMEOUT_S) as session:
        try:
            answer = session.put(
                endpoint, params={"graph": target}, content=body, headers={"Content-Type": "application/n-triples"}
            )
        except httpx.HTTPError as error:
            raise StoreProblem(f"{endpoint} did not answer ({error}): nothing is known to be published") from error
    if not answer.is_success:
        raise StoreProblem(f"{endpoint} answered {answer.status_code}: {answer.text[:500]}")
    return len(triples)
