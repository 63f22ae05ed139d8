"""The main job by the client that openapi-python-client generates: a build's plugs are matched, reserved,
issued by the reservation, and one of them is scrapped. Prints what was done as JSON."""

import json
import sys
import uuid

from plugwell_client import AuthenticatedClient
from plugwell_client.api.matching import match_plugs
from plugwell_client.api.stock import discard, issue, reserve
from plugwell_client.models import (
    Issue,
    MatchAnswer,
    MatchRequest,
    Movements,
    Reservation,
    Reserve,
    ScrapReason,
    Scrapping,
    StockMode,
)


def asked(answer, kind):
    """The answer, where it is of the kind that was hoped for."""
    if not isinstance(answer, kind):
        sys.exit(f"{kind.__name__} was expected, not {answer!r}")
    return answer


def main(url, token, build, job):
    client = AuthenticatedClient(base_url=url, token=token)

    question = MatchRequest(build_id=uuid.UUID(build), stock=StockMode.ENOUGH, limit=1)
    matched = asked(match_plugs.sync(client=client, body=question), MatchAnswer)
    fit = matched.fits[0]
    quantity = matched.quantity

    wanted = Reserve(plug_id=fit.plug.id, quantity=quantity, job=job)
    kept = asked(
        reserve.sync(client=client, body=wanted, idempotency_key=str(uuid.uuid4())),
        Reservation,
    )
    taken = Issue(plug_id=fit.plug.id, quantity=quantity, reservation_id=kept.id)
    key = str(uuid.uuid4())
    issued = asked(issue.sync(client=client, body=taken, idempotency_key=key), Movements)
    again = asked(issue.sync(client=client, body=taken, idempotency_key=key), Movements)
    if [m.id for m in again.movements] != [m.id for m in issued.movements]:
        sys.exit("the same key has to give the first answer again")
    dropped = Scrapping(
        plug_id=fit.plug.id, job=job, quantity=1, reason=ScrapReason.DROPPED
    )
    scrapped = asked(
        discard.sync(client=client, body=dropped, idempotency_key=str(uuid.uuid4())),
        Movements,
    )
    done = {
        "plug_id": str(fit.plug.id),
        "available": fit.available,
        "quantity": quantity,
        "issued": [str(movement.id) for movement in issued.movements],
        "scrapped": [str(movement.id) for movement in scrapped.movements],
    }
    print(json.dumps(done))


if __name__ == "__main__":
    main(*sys.argv[1:])
