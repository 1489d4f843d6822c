"""PostgreSQL: what an entry may say, checked by the server whatever program sends it; sign-in that counts."""

from __future__ import annotations

from mobicard.ledger.entry import KINDS, MOST_BYTES, OFFICE

_DEFINER = "SECURITY DEFINER SET search_path = public, pg_temp"

MEANING: dict[str, tuple[str, tuple[str, ...]]] = {
    "record": ("object null", ("record", "same", "correct", "fall")),
    "corrects": ("number", ("correct",)),
    "into": ("string", ("merge",)),
    "swap": ("string", ("move",)),
    "late": ("object", KINDS),
    "event": ("object", KINDS),
    "bed": ("string null", KINDS),
    "to": ("string null", KINDS),
    "from": ("string null", KINDS),
    "label": ("string null", KINDS),
    "code": ("string null", KINDS),
    "page": ("string null", KINDS),
    "received": ("string", KINDS),
    "machine_at": ("string", KINDS),
}
"""Names in a body that decide what is shown: their JSON types, and the kinds that may carry them."""

DEEPEST = 32
"""Levels of a body; a record has five. Some thousand bring the reader down."""

_PLAIN = "'^[^[:cntrl:]]{1,64}$'"
_TIME = r"'^[12]\d{3}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}\+00:00$'"


def _meanings() -> str:
    """One condition a name: absent, or of its type and in an entry of its kind."""
    return " AND ".join(
        f"(NOT said ? '{name}' OR (jsonb_typeof(said -> '{name}') IN ({_listed(types.split())}) "
        f"AND NEW.kind IN ({_listed(kinds)})))"
        for name, (types, kinds) in MEANING.items()
    )


def _listed(words: tuple[str, ...] | list[str]) -> str:
    return ", ".join(f"'{word}'" for word in words)


_BED = "length(coalesce({0}, '-')) BETWEEN 1 AND 16 AND coalesce({0}, '-') !~ '[[:cntrl:]<>]'"


def _entry_checked(create: str, also: str = "") -> str:
    """The owner is not checked: a restore must take what is there, and verify names what is odd.

    Nor who has not signed in: the rights on rows refuse that, and say so.
    """
    return f"""
{create} FUNCTION entry_checked() RETURNS trigger LANGUAGE plpgsql {_DEFINER} AS $$ DECLARE said jsonb; BEGIN
  IF session_user = current_user OR mobicard_role() IS NULL THEN RETURN NEW; END IF;
  IF NEW.kind NOT IN ({_listed(KINDS)}) OR NEW.schema <> 1 OR NEW.stay !~ {_PLAIN} OR NEW."by" !~ {_PLAIN}
     OR NEW.id !~ {_PLAIN} OR NEW.at !~ {_TIME} OR octet_length(NEW.body) > {MOST_BYTES}
  THEN RAISE EXCEPTION 'mobicard: entry makes no sense'; END IF;
  BEGIN
    PERFORM NEW.at::timestamptz;
    said := NEW.body::jsonb;
  EXCEPTION WHEN OTHERS THEN RAISE EXCEPTION 'mobicard: entry makes no sense'; END;
  IF jsonb_typeof(said) <> 'object' OR jsonb_path_exists(said, '$.**{{{DEEPEST} to last}}')
     OR NOT ({_meanings()})
     OR (NEW.kind IN ('admit', 'move', 'readmit')
         AND NOT (coalesce(said ->> 'to', said ->> 'bed') IS NOT NULL
                  AND {_BED.format("coalesce(said ->> 'to', said ->> 'bed')")}))
     OR NOT ({_BED.format("(said -> 'record' ->> 'bed')")})
  THEN RAISE EXCEPTION 'mobicard: entry makes no sense'; END IF;{also}
  RETURN NEW;
END $$"""


CHECKS = (
    _entry_checked("CREATE"),
    "REVOKE ALL ON FUNCTION entry_checked() FROM PUBLIC",
    "CREATE TRIGGER entry_checked BEFORE INSERT ON entry FOR EACH ROW EXECUTE FUNCTION entry_checked()",
)

SIGN_IN_IN_TWO = (
    """
CREATE TABLE sign_in_attempt (id text PRIMARY KEY, initials text NOT NULL, fits boolean NOT NULL,
  made bigint NOT NULL, made_at timestamptz NOT NULL DEFAULT clock_timestamp())""",
    # Counts and notes the attempt, and tells nothing that hangs on the PIN: to take it back gains nothing.
    f"""
CREATE FUNCTION mobicard_try(who text, proof text, said text, OUT attempt text, OUT outcome text)
LANGUAGE plpgsql {_DEFINER} AS $$
DECLARE p person%ROWTYPE; moment timestamptz := mobicard_moment(said); pause interval; most integer;
  stamp text; named text; known boolean; tries integer; last timestamptz; fits boolean;
BEGIN
  stamp := to_char(moment AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US') || '+00:00';
  SELECT make_interval(mins => value::integer) INTO pause FROM ledger_info WHERE name = 'pause_min';
  SELECT value::integer INTO most FROM ledger_info WHERE name = 'attempts';
  named := CASE WHEN who ~ '^[^[:cntrl:][:space:]]{{1,12}}$' THEN who ELSE '?' END;
  PERFORM pg_advisory_xact_lock(7201934);
  SELECT * INTO p FROM person WHERE initials = who FOR UPDATE;
  known := FOUND;
  IF known THEN
    tries := p.tries; last := p.tried_at::timestamptz;
  ELSE
    SELECT count(*), max(e.at)::timestamptz INTO tries, last FROM entry e
    WHERE e.stay = '{OFFICE}' AND e.kind = 'sign_in_refused' AND e."by" = named
      AND e.at::timestamptz BETWEEN moment - pause AND moment + pause;
  END IF;
  IF tries >= most AND moment BETWEEN last - pause AND last + pause THEN outcome := 'paused'; RETURN; END IF;
  fits := known AND p.active AND p.verifier = encode(sha256(convert_to(proof, 'UTF8')), 'hex');
  UPDATE person SET tries = CASE WHEN p.tries >= most THEN 1 ELSE p.tries + 1 END, tried_at = stamp
  WHERE initials = who;
  PERFORM mobicard_note(CASE WHEN fits THEN 'sign_in' ELSE 'sign_in_refused' END, named, stamp);
  DELETE FROM sign_in_attempt WHERE made_at < clock_timestamp() - interval '1 hour';
  attempt := replace(gen_random_uuid()::text, '-', '');
  INSERT INTO sign_in_attempt (id, initials, fits, made) VALUES (attempt, who, fits, txid_current());
  outcome := 'tried';
END $$""",
    # Answers only what is committed, so that the count stands whatever becomes of this transaction.
    f"""
CREATE FUNCTION mobicard_answer(attempt text, OUT outcome text, OUT role text, OUT token text)
LANGUAGE plpgsql {_DEFINER} AS $$ DECLARE a sign_in_attempt%ROWTYPE; p person%ROWTYPE; BEGIN
  outcome := 'wrong';
  SELECT * INTO a FROM sign_in_attempt WHERE id = attempt FOR UPDATE;
  IF NOT FOUND OR txid_status(a.made) IS DISTINCT FROM 'committed'
     OR a.made_at < clock_timestamp() - interval '1 minute' THEN RETURN; END IF;
  DELETE FROM sign_in_attempt WHERE id = attempt;
  IF NOT a.fits THEN RETURN; END IF;
  SELECT * INTO p FROM person WHERE initials = a.initials AND active;
  IF NOT FOUND THEN RETURN; END IF;
  UPDATE person SET tries = 0, tried_at = NULL WHERE initials = a.initials;
  token := replace(gen_random_uuid()::text || gen_random_uuid()::text, '-', '');
  DELETE FROM session WHERE ends_at::timestamptz < clock_timestamp();
  INSERT INTO session (digest, initials, ends_at) VALUES (
    encode(sha256(convert_to(token, 'UTF8')), 'hex'), a.initials,
    to_char((clock_timestamp() + interval '14 hours') AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US')
      || '+00:00');
  outcome := 'in'; role := p.role;
END $$""",
    "DROP FUNCTION mobicard_sign_in(text, text, text)",
    # A new PIN, another role or an end: whoever is signed in under the old one is so no more.
    f"""
CREATE FUNCTION person_changed() RETURNS trigger LANGUAGE plpgsql {_DEFINER} AS $$ BEGIN
  IF (NEW.verifier, NEW.role, NEW.active) IS DISTINCT FROM (OLD.verifier, OLD.role, OLD.active) THEN
    DELETE FROM session WHERE initials = NEW.initials;
    DELETE FROM sign_in_attempt WHERE initials = NEW.initials;
  END IF;
  RETURN NULL;
END $$""",
    "CREATE TRIGGER person_changed AFTER UPDATE ON person FOR EACH ROW EXECUTE FUNCTION person_changed()",
    # The one way to change the staff list from a station: by a keeper signed in, with the entry that says so.
    f"""
CREATE FUNCTION mobicard_put_person(who text, new_role text, new_active boolean, new_salt text, new_cost text,
    new_verifier text) RETURNS void LANGUAGE plpgsql {_DEFINER} AS $$
DECLARE k person := mobicard_person(); p person%ROWTYPE; head chain%ROWTYPE; v integer; i text; h text;
  stamp text; said text;
BEGIN
  IF k.role IS DISTINCT FROM 'keeper' THEN
    RAISE EXCEPTION 'permission denied: a keeper changes the staff list' USING ERRCODE = '42501';
  END IF;
  IF who !~ '^[^[:cntrl:][:space:]]{{1,12}}$' OR new_role NOT IN ('nurse', 'clerk', 'reader', 'keeper') THEN
    RAISE EXCEPTION 'mobicard: entry makes no sense';
  END IF;
  PERFORM pg_advisory_xact_lock(7201934);
  SELECT * INTO p FROM person WHERE initials = who FOR UPDATE;
  IF NOT FOUND THEN
    INSERT INTO person VALUES (who, new_role, new_active, new_salt, new_cost, new_verifier, 0, NULL)
    RETURNING * INTO p;
  ELSE
    UPDATE person SET role = new_role, active = new_active, salt = coalesce(new_salt, salt),
      cost = coalesce(new_cost, cost), verifier = coalesce(new_verifier, verifier),
      tries = CASE WHEN new_verifier IS NULL THEN tries ELSE 0 END,
      tried_at = CASE WHEN new_verifier IS NULL THEN tried_at END
    WHERE initials = who RETURNING * INTO p;
  END IF;
  stamp := to_char(clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US') || '+00:00';
  said := format('{{"active":%s,"initials":%s,"pin_set":%s,"role":%s%s}}', to_json(p.active),
    to_json(who), to_json(new_verifier IS NOT NULL), to_json(p.role),
    CASE WHEN new_verifier IS NULL THEN '' ELSE format(',"secret":"%s"', encode(sha256(convert_to(
      p.salt || E'\n' || p.cost || E'\n' || p.verifier, 'UTF8')), 'hex')) END);
  SELECT * INTO head FROM chain WHERE one = 1;
  SELECT 1 + coalesce(max(version), 0) INTO v FROM stay WHERE stay.stay = '{OFFICE}';
  i := replace(gen_random_uuid()::text, '-', '');
  h := encode(sha256(convert_to(concat_ws(E'\n', head.hash, head.seq + 1, i, '{OFFICE}', v, 'person', stamp,
    k.initials, 1, encode(sha256(convert_to(said, 'UTF8')), 'hex')), 'UTF8')), 'hex');
  INSERT INTO entry (seq, id, stay, version, kind, at, by, schema, body, prev, hash)
  VALUES (head.seq + 1, i, '{OFFICE}', v, 'person', stamp, k.initials, 1, said, head.hash, h);
END $$""",
    *(
        f"REVOKE ALL ON FUNCTION {name} FROM PUBLIC"
        for name in (
            "mobicard_try(text, text, text)",
            "mobicard_answer(text)",
            "person_changed()",
            "mobicard_put_person(text, text, boolean, text, text, text)",
        )
    ),
    # A unit that has its roles already goes on without setting them anew.
    """
DO $$ DECLARE name text; BEGIN
  FOR name IN SELECT rolname FROM pg_roles
    WHERE rolname IN ('mobicard_nurse', 'mobicard_clerk', 'mobicard_reader', 'mobicard_keeper') LOOP
    EXECUTE format(
      'GRANT EXECUTE ON FUNCTION mobicard_try(text, text, text), mobicard_answer(text) TO %I', name);
    EXECUTE format('REVOKE INSERT, UPDATE ON person FROM %I', name);
    IF name = 'mobicard_keeper' THEN
      GRANT EXECUTE ON FUNCTION mobicard_put_person(text, text, boolean, text, text, text) TO mobicard_keeper;
    END IF;
  END LOOP;
END $$""",
)
"""Run once by migration 4."""

_EARLIER = (
    "EXISTS (SELECT 1 FROM entry e, jsonb_each(nullif(e.body, '')::jsonb) told WHERE e.stay = which "
    "AND e.kind IN ('record', 'same', 'correct', 'fall') AND told.key IN ('record', 'late') AND {})"
)
_SAME_LOOK = (
    "(told.value ->> 'assessed_by', told.value ->> 'assessed_at') "
    "IS NOT DISTINCT FROM (one ->> 'assessed_by', one ->> 'assessed_at')"
)

AUTHORS = (
    # Cards print who looked: whoever is signed in, or somebody who had said the same in this stay before.
    f"""
CREATE FUNCTION mobicard_authored(who text, which text, said jsonb) RETURNS boolean LANGUAGE plpgsql STABLE
{_DEFINER} AS $$ DECLARE one jsonb; BEGIN
  FOREACH one IN ARRAY ARRAY[said -> 'record', said -> 'late'] LOOP
    CONTINUE WHEN jsonb_typeof(one) IS DISTINCT FROM 'object';
    IF coalesce(one ->> 'assessed_by', who) <> who AND NOT {_EARLIER.format(_SAME_LOOK)} THEN
      RETURN false;
    END IF;
    IF coalesce(one -> 'override' ->> 'by', who) <> who
       AND NOT {_EARLIER.format("told.value -> 'override' = one -> 'override'")} THEN
      RETURN false;
    END IF;
  END LOOP;
  RETURN true;
END $$""",
    "REVOKE ALL ON FUNCTION mobicard_authored(text, text, jsonb) FROM PUBLIC",
    _entry_checked(
        "CREATE OR REPLACE",
        """
  IF NOT mobicard_authored(NEW."by", NEW.stay, said) THEN
    RAISE EXCEPTION 'mobicard: entry by another';
  END IF;""",
    ),
)
"""Run once by migration 6."""

_ALL_ROLES = "mobicard_nurse, mobicard_clerk, mobicard_reader, mobicard_keeper"

SIGNED_IN_READ_RECEIPTS = (
    f"GRANT SELECT ON receipt TO {_ALL_ROLES}",
    "ALTER TABLE receipt ENABLE ROW LEVEL SECURITY",
    f"CREATE POLICY mobicard_receipt_read ON receipt FOR SELECT TO {_ALL_ROLES} "
    "USING ((SELECT mobicard_role()) IS NOT NULL)",
)

ROWS_OF_RECEIPTS = (
    "DO $$ BEGIN IF EXISTS (SELECT 1 FROM pg_policies WHERE policyname = 'mobicard_entry_read') THEN "
    + "; ".join(SIGNED_IN_READ_RECEIPTS)
    + "; END IF; END $$",
)
"""A unit that has its roles already goes on without setting them anew."""
