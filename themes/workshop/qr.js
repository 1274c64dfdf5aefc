"use strict";
const qr = { svg() { throw new Error("not yet"); } };
