-- What is kept of an archive, in the form of OGC GeoPackage 1.3. Every table and view of ours is
-- one of features or of attributes, so that the file needs no extension.

CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL,
  definition TEXT NOT NULL,
  description TEXT
);

INSERT INTO gpkg_spatial_ref_sys VALUES
  ('WGS 84', 4326, 'EPSG', 4326,
   'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]',
   'longitude and latitude in degrees on WGS 84'),
  ('Undefined Cartesian', -1, 'NONE', -1, 'undefined', 'undefined Cartesian reference system'),
  ('Undefined geographic', 0, 'NONE', 0, 'undefined', 'undefined geographic reference system');

CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY,
  data_type TEXT NOT NULL,
  identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE,
  min_y DOUBLE,
  max_x DOUBLE,
  max_y DOUBLE,
  srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
);

CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL,
  m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id)
);

-- Whose file this is.
CREATE TABLE groundrule (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  form INTEGER NOT NULL,
  program TEXT NOT NULL,
  standing TEXT NOT NULL
);

CREATE TABLE screenings (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  began DATETIME NOT NULL,
  ended DATETIME,
  program TEXT NOT NULL,
  ruleset TEXT NOT NULL,
  signed_by TEXT,
  paths TEXT NOT NULL,
  stood_in TEXT NOT NULL,
  sheet TEXT,
  basis TEXT NOT NULL,
  since INTEGER REFERENCES screenings(id),
  records INTEGER,
  judged INTEGER,
  in_order INTEGER,
  fall_short INTEGER,
  undecided INTEGER,
  not_read INTEGER
);

-- What a record is known by: its file; of a file that holds several, also its lot or else its line;
-- and which it is of those that are called the same.
CREATE TABLE records (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  name TEXT NOT NULL,
  part TEXT NOT NULL,
  nth INTEGER NOT NULL,
  result INTEGER REFERENCES results(id),
  UNIQUE (name, part, nth)
);

-- What was said of a text, once, however many screenings said it. `report` is the whole report as
-- JSON in a zlib stream, with `rules` for what does not depend on the record.
CREATE TABLE results (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  text_key BLOB NOT NULL,
  plan_file TEXT,
  plan_key BLOB NOT NULL,
  line INTEGER,
  lot TEXT,
  places TEXT NOT NULL,
  stage TEXT,
  status INTEGER NOT NULL,
  meets INTEGER NOT NULL,
  falls_short INTEGER NOT NULL,
  too_close INTEGER NOT NULL,
  not_recorded INTEGER NOT NULL,
  does_not_apply INTEGER NOT NULL,
  refer INTEGER NOT NULL,
  error TEXT,
  record_digest TEXT NOT NULL,
  report BLOB NOT NULL,
  UNIQUE (text_key, plan_key)
);

CREATE TABLE statements (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  screening INTEGER NOT NULL REFERENCES screenings(id),
  record INTEGER NOT NULL REFERENCES records(id),
  result INTEGER NOT NULL REFERENCES results(id),
  judged BOOLEAN NOT NULL,
  UNIQUE (screening, record)
);

CREATE TABLE rules (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  rule TEXT NOT NULL,
  title TEXT NOT NULL,
  obligation TEXT NOT NULL,
  hazard TEXT,
  hold TEXT NOT NULL,
  clauses TEXT NOT NULL,
  remedy TEXT NOT NULL,
  hazard_caution TEXT,
  caution TEXT NOT NULL,
  told TEXT NOT NULL
);

-- The findings of the last screening, lean; `findings` shows them whole.
CREATE TABLE verdicts (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  record INTEGER NOT NULL REFERENCES records(id),
  rule INTEGER NOT NULL REFERENCES rules(id),
  thing INTEGER REFERENCES things_on_map(fid),
  verdict TEXT NOT NULL,
  due TEXT NOT NULL,
  subject TEXT,
  line INTEGER,
  measured TEXT,
  "limit" TEXT,
  margin TEXT,
  share DOUBLE,
  missing TEXT,
  in_force_on TEXT
);
CREATE INDEX verdicts_by_record ON verdicts (record);

CREATE TABLE changes (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  screening INTEGER NOT NULL REFERENCES screenings(id),
  since INTEGER NOT NULL REFERENCES screenings(id),
  record_id INTEGER NOT NULL REFERENCES records(id),
  record TEXT NOT NULL,
  lot TEXT,
  turn TEXT NOT NULL,
  what_changed TEXT,
  rule TEXT,
  title TEXT,
  subject TEXT,
  before TEXT,
  after TEXT,
  before_measured TEXT,
  after_measured TEXT
);
CREATE INDEX changes_by_record ON changes (screening, record_id);

CREATE TABLE lots_on_map (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT NOT NULL,
  record_id INTEGER NOT NULL REFERENCES records(id),
  record TEXT NOT NULL,
  lot TEXT,
  places TEXT NOT NULL,
  stage TEXT,
  status INTEGER NOT NULL,
  falls_short INTEGER NOT NULL,
  too_close INTEGER NOT NULL,
  not_recorded INTEGER NOT NULL
);
CREATE INDEX lots_on_map_by_record ON lots_on_map (record_id);

CREATE TABLE things_on_map (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom GEOMETRY NOT NULL,
  record_id INTEGER NOT NULL REFERENCES records(id),
  record TEXT NOT NULL,
  lot TEXT,
  thing TEXT NOT NULL,
  findings INTEGER NOT NULL,
  falls_short INTEGER NOT NULL,
  too_close INTEGER NOT NULL,
  not_recorded INTEGER NOT NULL
);
CREATE INDEX things_on_map_by_record ON things_on_map (record_id);

CREATE VIEW lots AS
SELECT records.id AS id, records.name AS record, results.line, results.lot, results.places,
       results.stage, results.status, results.meets, results.falls_short, results.too_close,
       results.not_recorded, results.does_not_apply, results.refer, results.error
FROM records JOIN results ON results.id = records.result;

CREATE VIEW findings AS
SELECT verdicts.id AS id, records.name AS record, verdicts.line, results.lot, rules.rule,
       rules.title, rules.obligation, verdicts.verdict, verdicts.due, verdicts.subject,
       verdicts.measured, verdicts."limit", verdicts.margin, verdicts.share, rules.hazard,
       rules.hold, verdicts.missing, rules.clauses, verdicts.in_force_on, rules.remedy,
       rules.hazard_caution, rules.caution
FROM verdicts
JOIN rules ON rules.id = verdicts.rule
JOIN records ON records.id = verdicts.record
JOIN results ON results.id = records.result;

-- The name of the first column is that by which common readers know a view's features.
CREATE VIEW findings_on_map AS
SELECT verdicts.id AS ogc_fid, things_on_map.geom AS geom, things_on_map.record, verdicts.line,
       things_on_map.lot, rules.rule, rules.title, rules.obligation, verdicts.verdict,
       verdicts.due, verdicts.subject, verdicts.measured, verdicts."limit", verdicts.margin,
       verdicts.share, rules.hazard, rules.hold, verdicts.missing, rules.clauses,
       verdicts.in_force_on, rules.remedy, rules.hazard_caution, rules.caution
FROM verdicts
JOIN rules ON rules.id = verdicts.rule
JOIN things_on_map ON things_on_map.fid = verdicts.thing;

CREATE VIEW history AS
SELECT statements.id AS id, statements.screening, screenings.began, screenings.ended,
       screenings.program, screenings.ruleset, screenings.stood_in, records.name AS record,
       results.line, results.lot, results.record_digest, statements.judged, results.status,
       results.meets, results.falls_short, results.too_close, results.not_recorded,
       results.does_not_apply, results.refer, results.error
FROM statements
JOIN screenings ON screenings.id = statements.screening
JOIN records ON records.id = statements.record
JOIN results ON results.id = statements.result;

INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) VALUES
  ('lots_on_map', 'features', 'lots_on_map', 'Lots of the last screening whose plans show something: the middle of it', 4326),
  ('things_on_map', 'features', 'things_on_map', 'What the plans show: runs and things, with how many findings each has', 4326),
  ('findings_on_map', 'features', 'findings_on_map', 'Findings of the last screening whose subject a plan shows', 4326),
  ('lots', 'attributes', 'lots', 'What the last screening says of each record', NULL),
  ('findings', 'attributes', 'findings', 'All findings of the last screening', NULL),
  ('screenings', 'attributes', 'screenings', 'When, by which program and rules, what stood in', NULL),
  ('history', 'attributes', 'history', 'What each record said at each screening', NULL),
  ('changes', 'attributes', 'changes', 'What turned between a screening and the one before it', NULL),
  ('rules', 'attributes', 'rules', 'What findings tell of their rules', NULL),
  ('verdicts', 'attributes', 'verdicts', 'The findings, lean', NULL),
  ('records', 'attributes', 'records', 'What the records are known by', NULL),
  ('results', 'attributes', 'results', 'What was said of each text, with the whole report packed', NULL),
  ('statements', 'attributes', 'statements', 'Which result each record had at each screening', NULL),
  ('groundrule', 'attributes', 'groundrule', 'Whose file this is, and in what form', NULL);

INSERT INTO gpkg_geometry_columns VALUES
  ('lots_on_map', 'geom', 'POINT', 4326, 0, 0),
  ('things_on_map', 'geom', 'GEOMETRY', 4326, 0, 0),
  ('findings_on_map', 'geom', 'GEOMETRY', 4326, 0, 0);

PRAGMA application_id = 1196444487;
PRAGMA user_version = 10300;
