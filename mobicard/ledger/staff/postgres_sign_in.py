"""Sign-in on PostgreSQL, inside the server: no station reads a verifier, tries are counted there."""

from __future__ import annotations

from mobicard.ledger.entry import OFFICE

_DEFINER = "SECURITY DEFINER SET search_path = public, pg_temp"

SIGN_IN_FUNCTIONS = (
    f"""
CREATE FUNCTION mobicard_note(what text, who text, moment text) RETURNS void LANGUAGE plpgsql {_DEFINER}
AS $$ DECLARE head chain%ROWTYPE; v integer; i text; h text; BEGIN
  PERFORM pg_advisory_xact_lock(7201934);
  SELECT * INTO head FROM chain WHERE one = 1;
  SELECT 1 + coalesce(max(version), 0) INTO v FROM stay WHERE stay.stay = '{OFFICE}';
  i := replace(gen_random_uuid()::text, '-', '');
  h := encode(sha256(convert_to(concat_ws(E'\\n', head.hash, head.seq + 1, i, '{OFFICE}', v, what,
      moment, who, 1,
       encode(sha256(convert_to('{{}}', 'UTF8')), 'hex')), 'UTF8')), 'hex');
  INSERT INTO entry (seq, id, stay, version, kind, at, by, schema, body, prev, hash)
  VALUES (head.seq + 1, i, '{OFFICE}', v, what, moment, who, 1, '{{}}', head.hash, h);
END $$""",
    # An unknown name gets a salt too, always the same one, so that asking does not tell who works here.
    f"""
CREATE FUNCTION mobicard_salt(who text) RETURNS TABLE (salt text, cost text) LANGUAGE sql STABLE {_DEFINER}
AS $$ SELECT p.salt, p.cost FROM person p WHERE p.initials = who
  UNION ALL SELECT substr(encode(sha256(convert_to(i.value || who, 'UTF8')), 'hex'), 1, 32), 't=3,m=65536,p=1'
  FROM ledger_info i WHERE i.name = 'pepper' AND NOT EXISTS (SELECT 1 FROM person p WHERE
      p.initials = who) $$""",
    # The station's clock is not believed, unless it is the owner's (who could change the table anyway).
    f"""
CREATE FUNCTION mobicard_moment(said text) RETURNS timestamptz LANGUAGE sql STABLE {_DEFINER}
AS $$ SELECT CASE WHEN session_user = current_user THEN said::timestamptz ELSE clock_timestamp() END $$""",
    f"""
CREATE FUNCTION mobicard_sign_in(who text, proof text, said text, OUT outcome text, OUT role text,
    OUT token text)
LANGUAGE plpgsql {_DEFINER} AS $$
DECLARE p person%ROWTYPE; moment timestamptz := mobicard_moment(said); pause interval; most
    integer; stamp text;
BEGIN
  stamp := to_char(moment AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US') || '+00:00';
  SELECT make_interval(mins => value::integer) INTO pause FROM ledger_info WHERE name = 'pause_min';
  SELECT value::integer INTO most FROM ledger_info WHERE name = 'attempts';
  PERFORM pg_advisory_xact_lock(7201934);
  SELECT * INTO p FROM person WHERE initials = who FOR UPDATE;
  IF NOT FOUND THEN outcome := 'wrong'; RETURN; END IF;
  IF p.tries >= most AND moment BETWEEN p.tried_at::timestamptz - pause AND p.tried_at::timestamptz
      + pause THEN
    outcome := 'paused'; RETURN;
  END IF;
  IF NOT p.active OR p.verifier <> encode(sha256(convert_to(proof, 'UTF8')), 'hex') THEN
    UPDATE person SET tries = CASE WHEN p.tries >= most THEN 1 ELSE p.tries + 1 END, tried_at = stamp
    WHERE initials = who;
    PERFORM mobicard_note('sign_in_refused', who, stamp);
    outcome := 'wrong'; RETURN;
  END IF;
  UPDATE person SET tries = 0, tried_at = NULL WHERE initials = who;
  token := replace(gen_random_uuid()::text || gen_random_uuid()::text, '-', '');
  DELETE FROM session WHERE ends_at::timestamptz < clock_timestamp();
  INSERT INTO session (digest, initials, ends_at) VALUES (encode(sha256(convert_to(token, 'UTF8')),
      'hex'), who,
    to_char((clock_timestamp() + interval '14 hours') AT TIME ZONE 'UTC',
        'YYYY-MM-DD"T"HH24:MI:SS.US') || '+00:00');
  PERFORM mobicard_note('sign_in', who, stamp);
  outcome := 'in'; role := p.role;
END $$""",
    f"""
CREATE FUNCTION mobicard_sign_out(token text) RETURNS void LANGUAGE sql {_DEFINER}
AS $$ DELETE FROM session WHERE digest = encode(sha256(convert_to(token, 'UTF8')), 'hex') $$""",
    f"""
CREATE FUNCTION mobicard_person() RETURNS person LANGUAGE sql STABLE {_DEFINER}
AS $$ SELECT p FROM session s JOIN person p ON p.initials = s.initials AND p.active
  WHERE s.digest = encode(sha256(convert_to(current_setting('mobicard.token', true), 'UTF8')), 'hex')
    AND s.ends_at::timestamptz > clock_timestamp() $$""",
    f"""
CREATE FUNCTION mobicard_role() RETURNS text LANGUAGE sql STABLE {_DEFINER}
AS $$ SELECT (mobicard_person()).role $$""",
    f"""
CREATE FUNCTION mobicard_initials() RETURNS text LANGUAGE sql STABLE {_DEFINER}
AS $$ SELECT (mobicard_person()).initials $$""",
    f"""
CREATE FUNCTION mobicard_has_people() RETURNS boolean LANGUAGE sql STABLE {_DEFINER}
AS $$ SELECT EXISTS (SELECT 1 FROM person) $$""",
    # PostgreSQL lets everyone run a new function: take that back before roles are given theirs.
    *(
        f"REVOKE ALL ON FUNCTION {name} FROM PUBLIC"
        for name in (
            "mobicard_note(text, text, text)",
            "mobicard_salt(text)",
            "mobicard_moment(text)",
            "mobicard_sign_in(text, text, text)",
            "mobicard_sign_out(text)",
            "mobicard_person()",
            "mobicard_role()",
            "mobicard_initials()",
            "mobicard_has_people()",
        )
    ),
    "INSERT INTO ledger_info (name, value) VALUES ('pepper', gen_random_uuid()::text)",
)
"""Run once by migration 2; each runs as the ledger's owner, whatever role calls it."""

SESSIONS_END = (
    "ALTER TABLE session ADD COLUMN used_at timestamptz NOT NULL DEFAULT clock_timestamp()",
    f"""
CREATE OR REPLACE FUNCTION mobicard_person() RETURNS person LANGUAGE sql STABLE {_DEFINER}
AS $$ SELECT p FROM session s JOIN person p ON p.initials = s.initials AND p.active
  JOIN ledger_info i ON i.name = 'idle_min'
  WHERE s.digest = encode(sha256(convert_to(current_setting('mobicard.token', true), 'UTF8')), 'hex')
    AND s.ends_at::timestamptz > clock_timestamp()
    AND s.used_at > clock_timestamp() - make_interval(secs => 60 * i.value::float) $$""",
    # A session that has ended stays so, whoever says to be there still.
    f"""
CREATE FUNCTION mobicard_still_here() RETURNS boolean LANGUAGE plpgsql {_DEFINER} AS $$ BEGIN
  IF mobicard_initials() IS NULL THEN RETURN false; END IF;
  UPDATE session SET used_at = clock_timestamp()
  WHERE digest = encode(sha256(convert_to(current_setting('mobicard.token', true), 'UTF8')), 'hex');
  RETURN true;
END $$""",
    # The one way to change the limits of sign-in from a station, with the entry that says so.
    f"""
CREATE FUNCTION mobicard_put_limits(attempts integer, pause_min integer, idle_min float) RETURNS void
LANGUAGE plpgsql {_DEFINER} AS $$
DECLARE k person := mobicard_person(); head chain%ROWTYPE; v integer; i text; h text; stamp text; said text;
BEGIN
  IF k.role IS DISTINCT FROM 'keeper' THEN
    RAISE EXCEPTION 'permission denied: a keeper sets the limits' USING ERRCODE = '42501';
  END IF;
  IF NOT (attempts BETWEEN 1 AND 20 AND pause_min BETWEEN 1 AND 1440 AND idle_min > 0 AND idle_min <= 240)
  THEN RAISE EXCEPTION 'mobicard: entry makes no sense'; END IF;
  PERFORM pg_advisory_xact_lock(7201934);
  UPDATE ledger_info SET value = CASE name WHEN 'attempts' THEN attempts::text
    WHEN 'pause_min' THEN pause_min::text ELSE idle_min::text END
  WHERE name IN ('attempts', 'pause_min', 'idle_min');
  stamp := to_char(clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US') || '+00:00';
  said := format('{{"attempts":%s,"idle_min":%s,"pause_min":%s}}', attempts, idle_min, pause_min);
  SELECT * INTO head FROM chain WHERE one = 1;
  SELECT 1 + coalesce(max(version), 0) INTO v FROM stay WHERE stay.stay = '{OFFICE}';
  i := replace(gen_random_uuid()::text, '-', '');
  h := encode(sha256(convert_to(concat_ws(E'\\n', head.hash, head.seq + 1, i, '{OFFICE}', v, 'limits', stamp,
    k.initials, 1, encode(sha256(convert_to(said, 'UTF8')), 'hex')), 'UTF8')), 'hex');
  INSERT INTO entry (seq, id, stay, version, kind, at, by, schema, body, prev, hash)
  VALUES (head.seq + 1, i, '{OFFICE}', v, 'limits', stamp, k.initials, 1, said, head.hash, h);
END $$""",
    "REVOKE ALL ON FUNCTION mobicard_still_here() FROM PUBLIC",
    "REVOKE ALL ON FUNCTION mobicard_put_limits(integer, integer, float) FROM PUBLIC",
    # A unit that has its roles already goes on without setting them anew.
    """
DO $$ DECLARE name text; BEGIN
  FOR name IN SELECT rolname FROM pg_roles
    WHERE rolname IN ('mobicard_nurse', 'mobicard_clerk', 'mobicard_reader', 'mobicard_keeper') LOOP
    EXECUTE format('GRANT EXECUTE ON FUNCTION mobicard_still_here() TO %I', name);
    IF name = 'mobicard_keeper' THEN
      REVOKE UPDATE (value) ON ledger_info FROM mobicard_keeper;
      GRANT EXECUTE ON FUNCTION mobicard_put_limits(integer, integer, float) TO mobicard_keeper;
    END IF;
  END LOOP;
END $$""",
)
"""Run once by migration 6."""
