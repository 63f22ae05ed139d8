// The main job by the types that openapi-typescript generates and the client of openapi-fetch: a build's
// plugs are matched, reserved, issued by the reservation, and one of them is scrapped. Prints what was done
// as JSON.

import createClient from "openapi-fetch";
import type { components, paths } from "./plugwell.js";

declare const process: { argv: string[] };
declare const crypto: { randomUUID(): string };

type Movements = components["schemas"]["Movements"];

/** The answer, where it is the one that was hoped for. */
function asked<T>(answer: { data?: T; error?: unknown }): T {
    if (answer.data === undefined) {
        throw new Error(`refused: ${JSON.stringify(answer.error)}`);
    }
    return answer.data;
}

/** A new once-only key. */
function key() {
    return { "Idempotency-Key": crypto.randomUUID() };
}

function ids(movements: Movements): string[] {
    return movements.movements.map((movement) => movement.id);
}

const [url, token, build, job] = process.argv.slice(2) as [string, string, string, string];
const client = createClient<paths>({ baseUrl: url, headers: { Authorization: `Bearer ${token}` } });

const matched = asked(
    await client.POST("/v1/matches", { body: { build_id: build, stock: "enough", limit: 1 } }),
);
const fit = matched.fits[0];
if (!fit) {
    throw new Error("nothing fits");
}
const plug_id = fit.plug.id;
const quantity = matched.quantity;

const kept = asked(
    await client.POST("/v1/stock/reservations", {
        params: { header: key() },
        body: { plug_id, quantity, job },
    }),
);
const once = { header: key() };
const body = { plug_id, quantity, reservation_id: kept.id };
const issued = asked(await client.POST("/v1/stock/issues", { params: once, body }));
const again = asked(await client.POST("/v1/stock/issues", { params: once, body }));
if (ids(again).join() !== ids(issued).join()) {
    throw new Error("the same key has to give the first answer again");
}
const scrapped = asked(
    await client.POST("/v1/stock/scrappings", {
        params: { header: key() },
        body: { plug_id, job, quantity: 1, reason: "dropped" },
    }),
);
console.log(
    JSON.stringify({
        plug_id,
        available: fit.available,
        quantity,
        issued: ids(issued),
        scrapped: ids(scrapped),
    }),
);
