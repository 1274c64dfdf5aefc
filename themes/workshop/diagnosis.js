"use strict";
const diagnosis = { begin() { return { done: true, order: 0, fits: false, candidates: [], work() {}, checks: () => [], nearMisses: () => [] }; } };
