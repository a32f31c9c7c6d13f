/* A piece that was typed, told by the core as `coilbook compare --json` tells it. */
(function () {
  "use strict";
  var C = coilbook.check, D = coilbook.checkData, core = window.coilbook.core;
  var tables = null, peersOf = {};

  function rows(table) { return Object.keys(table).map(function (id) { return table[id]; }); }
  function claimOf(row, at) {
    var origin = at < D.referenceClaims ? "reference" : "archive";
    return core.listed_claim(row, D.properties[row.property_id], origin,
      [row.low, row.typical, row.high]);
  }
  /* The reference and the archive as the core sees them: made once, when the first piece is
     told. */
  function made() {
    if (tables) { return tables; }
    var claims = D.claims.map(claimOf);
    tables = {
      reference: new core.ListedReference(
        rows(D.properties), rows(D.families), rows(D.periods), rows(D.features), D.wires, D.bobbins,
        D.magnets,
        claims.slice(0, D.referenceClaims)),
      archive: core.listed_archive(D.kind, D.thresholds, claims.slice(D.referenceClaims)) };
    return tables;
  }

  function loaded(familyId) { return coilbook.peersOf && coilbook.peersOf[familyId]; }
  function peers(familyId) {
    var data = loaded(familyId), known = peersOf[familyId];
    if (!known || known.data !== data) {
      var lists = data ? Object.keys(data.values).map(function (id) {
        return [id, [data.values[id].v, data.values[id].g]];
      }) : [];
      known = { data: data, peers: core.listed_peers(data ? data.kind : D.kind, data ? data.groups
        : [], lists) };
      peersOf[familyId] = known;
    }
    return known.peers;
  }

  /* What the core tells as a mapping is a plain object on a page. */
  function plain(told) {
    if (Array.isArray(told)) { return told.map(plain); }
    if (told === null || typeof told !== "object") { return told; }
    var found = {};
    Array.from(told.items()).forEach(function (item) { found[item[0]] = plain(item[1]); });
    return found;
  }
  function withReading(one) {
    one.reading = one.line ? one.line - 1 : null;
    return one;
  }

  /** Return all that can be said of a piece from what was typed of it, and every slip in that.

      The input has the piece's cells as in pieces.csv and `readings` with the cells of
      readings.csv; an `accuracy` beside them is the meter's, {percent, digits}. A reading with an
      error is left out. Without `workings` budgets and steps are left out: the page shows none at a
      key. */
  function tell(input, workings) {
    var piece = C.readPiece(input), problems = piece.problems.slice(), readings = [];
    (input.readings || []).forEach(function (cells, index) {
      var read = C.readReading(cells, index, piece);
      problems = problems.concat(read.problems);
      if (read.reading) { readings.push(read.reading); }
    });
    var row = piece.row, out = Object.assign({}, row, { features: row.features.join(";") });
    var empty = {
      piece: out, kind: D.kind, values: [], closure: null, hum: null, turns: [], troubles: [],
      lead: { word: "cannot_tell", reasons: [{ code: "nothing_read" }] }, findings: [],
      consistency: null,
      next_readings: [], problems: problems, peers_loaded: Boolean(loaded(row.family_id)) };
    if (!piece.family) { return empty; }
    var known = made(), whole = { row: row, family: piece.family, readings: readings };
    var told = plain(core.piece_told(whole, known.reference, known.archive, peers(row.family_id),
      workings));
    told.values.forEach(withReading);
    told.troubles.forEach(withReading);
    return Object.assign(empty, told);
  }

  C.assess = function (input) { return tell(input, true); };
  C.answer = function (input) { return tell(input, false); };
})();
