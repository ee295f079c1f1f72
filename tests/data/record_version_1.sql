-- A record as version 1 wrote it: a wire set, a job, tags, four readings (one held, one with closed jaws), a void.
PRAGMA user_version = 1;
PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE reading (
  entry INTEGER PRIMARY KEY,
  id BLOB NOT NULL,
  station TEXT NOT NULL,
  sequence INTEGER NOT NULL,
  wall_us INTEGER NOT NULL,
  utc_offset_s INTEGER NOT NULL,
  mono_ns INTEGER NOT NULL,
  boot_id BLOB NOT NULL,
  raw BLOB NOT NULL,
  text TEXT NOT NULL,
  unit TEXT NOT NULL,
  unit_from TEXT NOT NULL,
  channel TEXT,
  job TEXT,
  job_entry INTEGER NOT NULL,
  feature TEXT,
  piece INTEGER NOT NULL,
  attempt INTEGER NOT NULL,
  position TEXT,
  wire_set TEXT,
  wire_set_entry INTEGER NOT NULL,
  instrument TEXT NOT NULL,
  instrument_entry INTEGER NOT NULL,
  method TEXT NOT NULL,
  operator TEXT,
  purpose TEXT NOT NULL,
  over_wires_mm REAL,
  pitch_diameter_mm REAL,
  plane_pitch_diameter_mm REAL,
  lead_angle_correction_mm REAL,
  limit_min_mm REAL,
  limit_max_mm REAL,
  seat TEXT NOT NULL,
  verdict TEXT NOT NULL,
  held TEXT,
  counted INTEGER NOT NULL,
  flags TEXT NOT NULL,
  hash BLOB NOT NULL
) STRICT;
INSERT INTO reading VALUES(5,X'01a212bf2af077b1bb23c0d9852cfb69','s0',2,1795610847984612,0,8256368741748,X'e042484b07b340ecb5ed85b7a27d9112',X'312e30373630','1.0760','in','station',NULL,'J',3,'end',1,1,NULL,'WS',2,'MIC-0',0,'by hand','AK','inspecting',27.330400000000000914,25.496880218260688621,25.49750510467706377,0.00062488641637514774629,25.425399999999999777,25.570180000000000575,'ok','pass',NULL,1,'unregistered',X'b661d28be48202fa44d532d9f22036b0998fdf7900367a2f287fae08b21e4ecb');
INSERT INTO reading VALUES(6,X'01a212bf2b54735bb78da7ebe6c42c5f','s0',3,1795610848084831,0,8256468959844,X'e042484b07b340ecb5ed85b7a27d9112',X'312e30373631','1.0761','in','station',NULL,'J',3,'end',2,1,NULL,'WS',2,'MIC-0',0,'by hand','AK','inspecting',27.332940000000000679,25.499420341268777435,25.500045104677063535,0.00062476340828609977506,25.425399999999999777,25.570180000000000575,'ok','pass',NULL,1,'unregistered',X'7ce56117148b692a822bf034b8d8a479a13bf169b06b186a434c40b3da0b7209');
INSERT INTO reading VALUES(7,X'01a212bf2bb9772785885f51a5e08445','s0',4,1795610848185028,0,8256569163449,X'e042484b07b340ecb5ed85b7a27d9112',X'32372e333331','27.331','in','station',NULL,'J',3,'end',3,1,NULL,'WS',2,'MIC-0',0,'by hand','AK','inspecting',694.20740000000000693,692.37450423757468343,692.37450510467704132,8.6710235791542800143e-07,25.425399999999999777,25.570180000000000575,'rides_crest_edge','none','unit',0,'unregistered',X'fb7517bedd5952f9181cc8ca1231c106ddd446ba841e267f2ea30a1ecfe30a15');
INSERT INTO reading VALUES(8,X'01a212bf2c1d74de98ff38c6fcbc5360','s0',5,1795610848285268,0,8256669397860,X'e042484b07b340ecb5ed85b7a27d9112',X'302e30303030','0.0000','in','station',NULL,'J',3,'end',3,1,NULL,'WS',2,'MIC-0',0,'by hand','AK','inspecting',0.0,NULL,NULL,NULL,25.425399999999999777,25.570180000000000575,'','none',NULL,0,'closed_jaws unregistered',X'8ac88c28200728c5b6fbcc18e876a7382271a4fd25168cbaa6d2417b3d0bc061');
CREATE TABLE change (
  entry INTEGER PRIMARY KEY,
  id BLOB NOT NULL,
  station TEXT NOT NULL,
  sequence INTEGER NOT NULL,
  wall_us INTEGER NOT NULL,
  utc_offset_s INTEGER NOT NULL,
  mono_ns INTEGER NOT NULL,
  boot_id BLOB NOT NULL,
  kind TEXT NOT NULL,
  subject TEXT NOT NULL,
  reading INTEGER,
  by TEXT NOT NULL,
  reason TEXT NOT NULL,
  body TEXT NOT NULL,
  hash BLOB NOT NULL
) STRICT;
INSERT INTO change VALUES(1,X'01a212bf29b871eca2b6be8a598fdbe6','',1,1795610847672204,0,8256056331145,X'e042484b07b340ecb5ed85b7a27d9112','start','',NULL,'','','{"version":"0.1.0"}',X'a5816e0b2d88e60f8ac5cba5318903f3f60861659b95ba6143cb7ccd52c55968');
INSERT INTO change VALUES(2,X'01a212bf2aeb74c9b0c0d2839aa8868e','',2,1795610847979008,0,8256363143093,X'e042484b07b340ecb5ed85b7a27d9112','wire_set','WS',NULL,'AK','','{"wire_set":"WS","unit":"in","diameters":["0.04811"],"certificate":"","convention":"","due":""}',X'c587ee26820e61294881a7483230e3e4b9fa9eb75a5259c07f22330c202a52a1');
INSERT INTO change VALUES(3,X'01a212bf2aed758dbf3b80303200ee5f','',3,1795610847980990,0,8256365117975,X'e042484b07b340ecb5ed85b7a27d9112','job','J',NULL,'AK','','{"job":"J","drawing":"","drawing_revision":"","order":"","lot":"","readings_a_piece":1,"features":[{"name":"end","thread":"1 1/16-12 UN-2A","wire_set":"WS"}]}',X'e613d14abc2ab514e396a3ca92485ee290b630b1861174c5f2bab7cd28a19ea6');
INSERT INTO change VALUES(4,X'01a212bf2aef75229cd17d4baadd600f','s0',1,1795610847982978,0,8256367109592,X'e042484b07b340ecb5ed85b7a27d9112','tags','s0',NULL,'AK','','{"job":"J","feature":"end","piece":1,"attempt":1,"position":null,"wire_set":"WS","method":"by hand","operator":"AK","purpose":"inspecting","counted":0}',X'92169c2a043be1493d9b8ce8e323da58c567f87516db3b7e257dc02db31ccd6c');
INSERT INTO change VALUES(9,X'01a212bf2c857089a16c7efa61a894e6','s0',6,1795610848389219,0,8256773349058,X'e042484b07b340ecb5ed85b7a27d9112','void','',5,'AK','wire slipped','',X'75d522d1bdf8a65f1b67cfbe840cb4c1d739a77224868bfbb2e3f7919e43fc18');
CREATE UNIQUE INDEX reading_by_station ON reading(station, sequence);
CREATE INDEX reading_by_job ON reading(job, feature, piece) WHERE job IS NOT NULL;
CREATE UNIQUE INDEX change_by_station ON change(station, sequence);
CREATE INDEX change_by_kind ON change(kind, subject);
CREATE INDEX change_by_reading ON change(reading) WHERE reading IS NOT NULL;
CREATE TRIGGER reading_is_never_altered BEFORE UPDATE ON reading
  BEGIN SELECT RAISE(ABORT, 'a reading is never altered: void or re-tag it'); END;
CREATE TRIGGER reading_is_never_deleted BEFORE DELETE ON reading
  BEGIN SELECT RAISE(ABORT, 'a reading is never deleted: void it'); END;
CREATE TRIGGER change_is_never_altered BEFORE UPDATE ON change
  BEGIN SELECT RAISE(ABORT, 'a change is never altered: make another'); END;
CREATE TRIGGER change_is_never_deleted BEFORE DELETE ON change
  BEGIN SELECT RAISE(ABORT, 'a change is never deleted: make another'); END;
COMMIT;
