CREATE SCHEMA format_3;
COMMENT ON SCHEMA format_3 IS 'turnbuckle ledger, format 3';
CREATE FUNCTION format_3.refuse_change() RETURNS trigger
    LANGUAGE plpgsql
    AS $$BEGIN RAISE EXCEPTION 'the ledger is append-only'; END$$;
CREATE TABLE format_3.attachment_parts (
    digest bytea NOT NULL,
    part bigint NOT NULL,
    content bytea NOT NULL,
    CONSTRAINT attachment_parts_part_check CHECK ((part > 0))
);
CREATE TABLE format_3.attachments (
    digest bytea NOT NULL,
    media text NOT NULL,
    size bigint NOT NULL,
    CONSTRAINT attachments_size_check CHECK ((size > 0))
);
CREATE TABLE format_3.backups (
    only_row bigint NOT NULL,
    number bigint NOT NULL,
    taken_at text NOT NULL,
    CONSTRAINT backups_only_row_check CHECK ((only_row = 1))
);
CREATE TABLE format_3.checkpoints (
    place bigint NOT NULL,
    number bigint NOT NULL,
    digest bytea NOT NULL,
    signed_at text NOT NULL,
    public_key bytea NOT NULL,
    signature bytea NOT NULL,
    CONSTRAINT checkpoints_place_check CHECK ((place > 0))
);
CREATE TABLE format_3.entries (
    number bigint NOT NULL,
    batch bigint NOT NULL,
    recorded_at text NOT NULL,
    recorded_by text NOT NULL,
    kind text NOT NULL,
    version bigint NOT NULL,
    body bytea NOT NULL,
    digest bytea NOT NULL,
    request text,
    CONSTRAINT entries_number_check CHECK ((number > 0))
);
CREATE TABLE format_3.meta (
    only_row bigint NOT NULL,
    ledger bytea NOT NULL,
    head_number bigint NOT NULL,
    head_digest bytea NOT NULL,
    CONSTRAINT meta_only_row_check CHECK ((only_row = 1))
);
CREATE TABLE format_3.setting_changes (
    only_row bigint NOT NULL,
    number bigint NOT NULL,
    CONSTRAINT setting_changes_only_row_check CHECK ((only_row = 1))
);
CREATE TABLE format_3.settings (
    owner text NOT NULL,
    kind text NOT NULL,
    name text NOT NULL,
    content text NOT NULL
);
CREATE TABLE format_3.snapshot_parts (
    place bigint NOT NULL,
    part bigint NOT NULL,
    content bytea NOT NULL,
    CONSTRAINT snapshot_parts_part_check CHECK ((part > 0))
);
CREATE TABLE format_3.snapshots (
    place bigint NOT NULL,
    number bigint NOT NULL,
    digest bytea NOT NULL,
    format text NOT NULL,
    size bigint NOT NULL,
    checksum bytea NOT NULL,
    CONSTRAINT snapshots_place_check CHECK ((place > 0))
);
INSERT INTO format_3.attachment_parts VALUES ('\x1b87127d24c48421b091238fe8cf85e6b8693cff3103434c420ee505a6f3359f', 1, '\x72696220373a206c65667420626568696e640a');
INSERT INTO format_3.attachment_parts VALUES ('\x6fdc0803a63761e30720419c72b4f18e10d58faacd5bb73ae46b88e134dc087f', 1, '\x72696220363a206e616d656420627920656e74727920370a');
INSERT INTO format_3.attachment_parts VALUES ('\xc1650d5377974d8285ff68824f74559842f591c6657dea3d6209881bec92ed5d', 1, '\x6120746578742074686174207761732061747461636865640a');
INSERT INTO format_3.attachments VALUES ('\x1b87127d24c48421b091238fe8cf85e6b8693cff3103434c420ee505a6f3359f', 'text/plain', 19);
INSERT INTO format_3.attachments VALUES ('\x6fdc0803a63761e30720419c72b4f18e10d58faacd5bb73ae46b88e134dc087f', 'text/plain', 24);
INSERT INTO format_3.attachments VALUES ('\xc1650d5377974d8285ff68824f74559842f591c6657dea3d6209881bec92ed5d', 'text/plain', 25);
INSERT INTO format_3.entries VALUES (1, 1, '2031-01-02T09:30:00Z', 'Fitter 1', 'kind 1', 1, '\x7b226e223a317d', '\x567b569b5fa85ac735d0940c179511a631df1798006e54356e12f3cfbf40162b', NULL);
INSERT INTO format_3.entries VALUES (2, 2, '2031-01-03T09:30:00Z', 'Fitter 2', 'kind 2', 2, '\x7b226e223a327d', '\xce3cc6566f2405de9d2c4e60d1549ca2092e1676bd03e024dc2488f1917b6e62', NULL);
INSERT INTO format_3.entries VALUES (3, 2, '2031-01-04T09:30:00Z', 'Fitter 3', 'kind 3', 0, '\x7b226e223a337d', '\xc3c3a4d7e7cc0a6b53349e0b9c34bc5fec774d770d1bea391e7fd19769cfd151', NULL);
INSERT INTO format_3.entries VALUES (4, 2, '2031-01-05T09:30:00Z', 'Fitter 4', 'kind 4', 1, '\x7b226e223a347d', '\xe601dd229e244a4693d72ba56a5d62e19f99ca0540fd8b039c8944b1bb413ac6', NULL);
INSERT INTO format_3.entries VALUES (5, 5, '2031-01-06T09:30:00Z', 'Fitter 5', 'kind 0', 2, '\x7b226e223a357d', '\xd5cd0c3d36ab52c4d187fa21f9156ee89a92a0f974c87616a5b6380ec3d0ded5', NULL);
INSERT INTO format_3.entries VALUES (6, 5, '2031-01-07T09:30:00Z', 'Fitter 6', 'kind 1', 0, '\x7b226e223a367d', '\x5e28c70da270a1c7bd44200529bee039679e348bff894dbaea623e966adb59ed', NULL);
INSERT INTO format_3.entries VALUES (7, 7, '2031-01-14T10:00:00Z', 'A. Fitter', 'note', 1, '\x7365652036666463303830336136333736316533303732303431396337326234663138653130643538666161636435626237336165343662383865313334646330383766', '\x16be1b5882e32201fc84bd1721998b056063c0771a831d2f2e040b330ebda136', NULL);
INSERT INTO format_3.meta VALUES (1, '\x74657374206f662061206c6564676572', 7, '\x16be1b5882e32201fc84bd1721998b056063c0771a831d2f2e040b330ebda136');
INSERT INTO format_3.settings VALUES ('OP', 'preferences', 'all', '{}');
ALTER TABLE ONLY format_3.attachment_parts
    ADD CONSTRAINT attachment_parts_pkey PRIMARY KEY (digest, part);
ALTER TABLE ONLY format_3.attachments
    ADD CONSTRAINT attachments_pkey PRIMARY KEY (digest);
ALTER TABLE ONLY format_3.backups
    ADD CONSTRAINT backups_pkey PRIMARY KEY (only_row);
ALTER TABLE ONLY format_3.checkpoints
    ADD CONSTRAINT checkpoints_pkey PRIMARY KEY (place);
ALTER TABLE ONLY format_3.entries
    ADD CONSTRAINT entries_pkey PRIMARY KEY (number);
ALTER TABLE ONLY format_3.meta
    ADD CONSTRAINT meta_pkey PRIMARY KEY (only_row);
ALTER TABLE ONLY format_3.setting_changes
    ADD CONSTRAINT setting_changes_pkey PRIMARY KEY (only_row);
ALTER TABLE ONLY format_3.settings
    ADD CONSTRAINT settings_pkey PRIMARY KEY (owner, kind, name);
ALTER TABLE ONLY format_3.snapshot_parts
    ADD CONSTRAINT snapshot_parts_pkey PRIMARY KEY (place, part);
ALTER TABLE ONLY format_3.snapshots
    ADD CONSTRAINT snapshots_pkey PRIMARY KEY (place);
CREATE UNIQUE INDEX entries_request ON format_3.entries USING btree (request) WHERE (request IS NOT NULL);
CREATE TRIGGER attachment_parts_change BEFORE DELETE OR UPDATE OR TRUNCATE ON format_3.attachment_parts FOR EACH STATEMENT EXECUTE FUNCTION format_3.refuse_change();
CREATE TRIGGER attachments_change BEFORE DELETE OR UPDATE OR TRUNCATE ON format_3.attachments FOR EACH STATEMENT EXECUTE FUNCTION format_3.refuse_change();
CREATE TRIGGER checkpoints_change BEFORE DELETE OR UPDATE OR TRUNCATE ON format_3.checkpoints FOR EACH STATEMENT EXECUTE FUNCTION format_3.refuse_change();
CREATE TRIGGER entries_change BEFORE DELETE OR UPDATE OR TRUNCATE ON format_3.entries FOR EACH STATEMENT EXECUTE FUNCTION format_3.refuse_change();
CREATE TRIGGER meta_delete BEFORE DELETE OR TRUNCATE ON format_3.meta FOR EACH STATEMENT EXECUTE FUNCTION format_3.refuse_change();
