"""The law of the ledger, kept by the database itself.

Canon of an entry: every column but ``hash``, in this order, joined by ``|``: seq, operation,
happened_at, entered_at, source, target, quantity, method, kind, reason, by, reverses, prev_hash.
Integers in decimal, instants as microseconds since the epoch, texts as the hex of their SHA-256,
the uuid as text, NULL as nothing. ``chemistry.canon`` writes the same in Python.
"""

from django.db import migrations

FUNCTIONS = r"""
CREATE FUNCTION chemistry_text_hash(value text) RETURNS text
LANGUAGE sql IMMUTABLE AS $$
    SELECT encode(sha256(convert_to(value, 'UTF8')), 'hex')
$$;

CREATE FUNCTION chemistry_micros(value timestamptz) RETURNS text
LANGUAGE sql IMMUTABLE AS $$
    SELECT CASE WHEN value IS NULL THEN '' ELSE
        (extract(epoch FROM value) * 1000000)::bigint::text END
$$;

CREATE FUNCTION chemistry_movement_canon(m chemistry_movement) RETURNS text
LANGUAGE sql STABLE AS $$
    SELECT concat_ws('|',
        m.seq::text,
        m.operation::text,
        chemistry_micros(m.happened_at),
        chemistry_micros(m.entered_at),
        m.source_id::text,
        m.target_id::text,
        m.quantity::text,
        chemistry_text_hash(m.method),
        chemistry_text_hash(m.kind),
        chemistry_text_hash(m.reason),
        coalesce(m.by_id::text, ''),
        coalesce(m.reverses_id::text, ''),
        m.prev_hash)
$$;

CREATE FUNCTION chemistry_movement_chain() RETURNS trigger
LANGUAGE plpgsql AS $$
DECLARE
    head chemistry_ledgerhead%ROWTYPE;
    original chemistry_movement%ROWTYPE;
    source_unit text;
    target_unit text;
BEGIN
    INSERT INTO chemistry_ledgerhead (id, seq, hash) VALUES (1, 0, repeat('0', 64))
        ON CONFLICT DO NOTHING;
    SELECT * INTO head FROM chemistry_ledgerhead WHERE id = 1 FOR NO KEY UPDATE;

    SELECT unit INTO source_unit FROM chemistry_account WHERE id = NEW.source_id;
    SELECT unit INTO target_unit FROM chemistry_account WHERE id = NEW.target_id;
    IF source_unit IS DISTINCT FROM target_unit THEN
        RAISE EXCEPTION 'both sides of a movement share a unit'
            USING ERRCODE = '23001', CONSTRAINT = 'movement_one_unit';
    END IF;
    IF NEW.reverses_id IS NOT NULL THEN
        IF EXISTS (SELECT 1 FROM chemistry_movement WHERE reverses_id = NEW.reverses_id) THEN
            RAISE EXCEPTION 'this movement was reversed before'
                USING ERRCODE = '23505', CONSTRAINT = 'movement_reversed_once';
        END IF;
        SELECT * INTO original FROM chemistry_movement WHERE seq = NEW.reverses_id;
        IF original.reverses_id IS NOT NULL
            OR (NEW.source_id, NEW.target_id, NEW.quantity, NEW.happened_at)
            IS DISTINCT FROM
            (original.target_id, original.source_id, original.quantity, original.happened_at)
        THEN
            RAISE EXCEPTION 'a reversal is the exact swap of an entry that is none itself'
                USING ERRCODE = '23001', CONSTRAINT = 'movement_reversal_is_a_swap';
        END IF;
    END IF;

    NEW.seq := head.seq + 1;
    NEW.entered_at := greatest(NEW.entered_at, head.entered_at);
    NEW.prev_hash := head.hash;
    NEW.hash := chemistry_text_hash(chemistry_movement_canon(NEW));
    UPDATE chemistry_ledgerhead
        SET seq = NEW.seq, hash = NEW.hash, entered_at = NEW.entered_at WHERE id = 1;
    RETURN NEW;
END $$;

CREATE FUNCTION chemistry_movement_balance() RETURNS trigger
LANGUAGE plpgsql AS $$
BEGIN
    UPDATE chemistry_account AS account SET balance = account.balance + net.change
    FROM (
        SELECT id, sum(change)::bigint AS change FROM (
            SELECT target_id AS id, quantity AS change FROM added
            UNION ALL
            SELECT source_id, -quantity FROM added
        ) AS sides GROUP BY id
    ) AS net
    WHERE account.id = net.id AND net.change <> 0;
    RETURN NULL;
END $$;

CREATE FUNCTION chemistry_append_only() RETURNS trigger
LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is only ever added to', TG_TABLE_NAME
        USING ERRCODE = '23001', CONSTRAINT = TG_TABLE_NAME || '_append_only';
END $$;

CREATE FUNCTION chemistry_account_identity() RETURNS trigger
LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.kind, NEW.unit, NEW.stream, NEW.batch_id, NEW.container_id)
        IS DISTINCT FROM (OLD.kind, OLD.unit, OLD.stream, OLD.batch_id, OLD.container_id) THEN
        RAISE EXCEPTION 'an account stays what it is'
            USING ERRCODE = '23001', CONSTRAINT = 'account_identity';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER movement_chain BEFORE INSERT ON chemistry_movement
    FOR EACH ROW EXECUTE FUNCTION chemistry_movement_chain();
CREATE TRIGGER movement_balance AFTER INSERT ON chemistry_movement
    REFERENCING NEW TABLE AS added
    FOR EACH STATEMENT EXECUTE FUNCTION chemistry_movement_balance();
CREATE TRIGGER movement_append_only BEFORE UPDATE OR DELETE ON chemistry_movement
    FOR EACH ROW EXECUTE FUNCTION chemistry_append_only();
CREATE TRIGGER movement_no_truncate BEFORE TRUNCATE ON chemistry_movement
    FOR EACH STATEMENT EXECUTE FUNCTION chemistry_append_only();
CREATE TRIGGER use_append_only BEFORE UPDATE OR DELETE ON chemistry_use
    FOR EACH ROW EXECUTE FUNCTION chemistry_append_only();
CREATE TRIGGER use_no_truncate BEFORE TRUNCATE ON chemistry_use
    FOR EACH STATEMENT EXECUTE FUNCTION chemistry_append_only();
CREATE TRIGGER account_identity BEFORE UPDATE ON chemistry_account
    FOR EACH ROW EXECUTE FUNCTION chemistry_account_identity();
"""

REVERSE = """
DROP TRIGGER account_identity ON chemistry_account;
DROP TRIGGER use_no_truncate ON chemistry_use;
DROP TRIGGER use_append_only ON chemistry_use;
DROP TRIGGER movement_no_truncate ON chemistry_movement;
DROP TRIGGER movement_append_only ON chemistry_movement;
DROP TRIGGER movement_balance ON chemistry_movement;
DROP TRIGGER movement_chain ON chemistry_movement;
DROP FUNCTION chemistry_account_identity();
DROP FUNCTION chemistry_append_only();
DROP FUNCTION chemistry_movement_balance();
DROP FUNCTION chemistry_movement_chain();
DROP FUNCTION chemistry_movement_canon(chemistry_movement);
DROP FUNCTION chemistry_micros(timestamptz);
DROP FUNCTION chemistry_text_hash(text);
"""


class Migration(migrations.Migration):
    dependencies = [("chemistry", "0001_initial")]
    operations = [migrations.RunSQL(FUNCTIONS, REVERSE)]
