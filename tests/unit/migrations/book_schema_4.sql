BEGIN TRANSACTION;
CREATE TABLE about (
	"key" VARCHAR(40) NOT NULL, 
	value TEXT NOT NULL, 
	CONSTRAINT pk_about PRIMARY KEY ("key")
);
INSERT INTO "about" VALUES('made','conewise 0.1.0, 2026-05-01T08:00:01+00:00');
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0004');
CREATE TABLE car (
	name TEXT NOT NULL, 
	owner VARCHAR(60), 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_car PRIMARY KEY (id), 
	CONSTRAINT fk_car_owner FOREIGN KEY(owner) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_car_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_car_revision UNIQUE (revision)
);
INSERT INTO "car" VALUES('Pepper','ada','pepper',1,3);
CREATE TABLE car_change (
	event VARCHAR(60), 
	car VARCHAR(60) NOT NULL, 
	happened_at DATETIME NOT NULL, 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_car_change PRIMARY KEY (id), 
	CONSTRAINT fk_car_change_car FOREIGN KEY(car) REFERENCES car (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_car_change_event FOREIGN KEY(event) REFERENCES event (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_car_change_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_car_change_revision UNIQUE (revision)
);
INSERT INTO "car_change" VALUES(NULL,'pepper','2026-05-01 08:30:00.000000','change-1',1,8);
CREATE TABLE car_text (
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_car_text PRIMARY KEY (id), 
	CONSTRAINT fk_car_text_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_car_text_revision UNIQUE (revision)
);
INSERT INTO "car_text" VALUES('pepper',1,14);
CREATE TABLE changes_text (
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_changes_text PRIMARY KEY (id), 
	CONSTRAINT fk_changes_text_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_changes_text_revision UNIQUE (revision)
);
CREATE TABLE course_text (
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_course_text PRIMARY KEY (id), 
	CONSTRAINT fk_course_text_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_course_text_revision UNIQUE (revision)
);
INSERT INTO "course_text" VALUES('harbour-yard',1,15);
CREATE TABLE driver_text (
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_driver_text PRIMARY KEY (id), 
	CONSTRAINT fk_driver_text_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_driver_text_revision UNIQUE (revision)
);
INSERT INTO "driver_text" VALUES('somebody',1,16);
CREATE TABLE entry (
	event VARCHAR(60) NOT NULL, 
	place INTEGER NOT NULL, 
	person VARCHAR(60) NOT NULL, 
	car VARCHAR(60) NOT NULL, 
	helmet VARCHAR(60), 
	CONSTRAINT pk_entry PRIMARY KEY (event, place), 
	CONSTRAINT fk_entry_car FOREIGN KEY(car) REFERENCES car (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_entry_event FOREIGN KEY(event) REFERENCES event (id), 
	CONSTRAINT fk_entry_helmet FOREIGN KEY(helmet) REFERENCES helmet (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_entry_person FOREIGN KEY(person) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED
);
INSERT INTO "entry" VALUES('lot-1',0,'ben','pepper','club-1');
INSERT INTO "entry" VALUES('lot-1',1,'ada','pepper',NULL);
CREATE TABLE event (
	name TEXT NOT NULL, 
	day DATE NOT NULL, 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_event PRIMARY KEY (id), 
	CONSTRAINT fk_event_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_event_revision UNIQUE (revision)
);
INSERT INTO "event" VALUES('Back lot','2026-05-01','lot-1',1,5);
CREATE TABLE expense (
	event VARCHAR(60), 
	person VARCHAR(60), 
	day DATE NOT NULL, 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_expense PRIMARY KEY (id), 
	CONSTRAINT fk_expense_event FOREIGN KEY(event) REFERENCES event (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_expense_person FOREIGN KEY(person) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_expense_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_expense_revision UNIQUE (revision)
);
INSERT INTO "expense" VALUES('lot-1',NULL,'2026-05-01','cost-1',1,12);
CREATE TABLE helmet (
	owner VARCHAR(60), 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_helmet PRIMARY KEY (id), 
	CONSTRAINT fk_helmet_owner FOREIGN KEY(owner) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_helmet_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_helmet_revision UNIQUE (revision)
);
INSERT INTO "helmet" VALUES(NULL,'club-1',1,4);
CREATE TABLE "inspection_check" (
	event VARCHAR(60) NOT NULL, 
	car VARCHAR(60) NOT NULL, 
	item TEXT NOT NULL, 
	looked_at DATETIME NOT NULL, 
	photo VARCHAR(64), 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_inspection_check PRIMARY KEY (id), 
	CONSTRAINT uq_inspection_check_revision UNIQUE (revision), 
	CONSTRAINT fk_inspection_check_event FOREIGN KEY(event) REFERENCES event (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_inspection_check_car FOREIGN KEY(car) REFERENCES car (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_inspection_check_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT fk_inspection_check_photo FOREIGN KEY(photo) REFERENCES kept_file (address) DEFERRABLE INITIALLY DEFERRED
);
INSERT INTO "inspection_check" VALUES('lot-1','pepper','belts','2026-05-01 08:30:00.000000',NULL,'check-1',1,7);
CREATE TABLE "job" (
	id VARCHAR(60) NOT NULL, 
	kind VARCHAR(40) NOT NULL, 
	state VARCHAR(10) NOT NULL, 
	asked TEXT NOT NULL, 
	progress DOUBLE NOT NULL, 
	message TEXT NOT NULL, 
	error TEXT, 
	asked_at DATETIME NOT NULL, 
	seen_at DATETIME NOT NULL, 
	CONSTRAINT pk_job PRIMARY KEY (id)
);
INSERT INTO "job" VALUES('job-1','line','waiting','{"course": "harbour-yard"}',0.0,'',NULL,'2026-05-01 08:00:22.000000','2026-05-01 08:00:22.000000');
CREATE TABLE job_asker (
	job VARCHAR(60) NOT NULL, 
	device VARCHAR(64) NOT NULL, 
	slot VARCHAR(60) NOT NULL, 
	CONSTRAINT pk_job_asker PRIMARY KEY (job, device, slot), 
	CONSTRAINT fk_job_asker_job FOREIGN KEY(job) REFERENCES job (id) ON DELETE CASCADE
);
INSERT INTO "job_asker" VALUES('job-1','','');
CREATE TABLE job_result (
	job VARCHAR(60) NOT NULL, 
	content TEXT NOT NULL, 
	CONSTRAINT pk_job_result PRIMARY KEY (job), 
	CONSTRAINT fk_job_result_job FOREIGN KEY(job) REFERENCES job (id) ON DELETE CASCADE
);
CREATE TABLE kept_file (
	address VARCHAR(64) NOT NULL, 
	name TEXT NOT NULL, 
	n_bytes INTEGER NOT NULL, 
	added_at DATETIME NOT NULL, 
	CONSTRAINT pk_kept_file PRIMARY KEY (address)
);
INSERT INTO "kept_file" VALUES('bf891ea46ead4993e89aa7da02ab8c23dd50f29e9aae64607105363a5f070e03','dent.jpg',13,'2026-05-01 08:00:20.000000');
CREATE TABLE loan (
	event VARCHAR(60) NOT NULL, 
	helmet VARCHAR(60) NOT NULL, 
	person VARCHAR(60) NOT NULL, 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_loan PRIMARY KEY (id), 
	CONSTRAINT fk_loan_event FOREIGN KEY(event) REFERENCES event (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_loan_helmet FOREIGN KEY(helmet) REFERENCES helmet (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_loan_person FOREIGN KEY(person) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_loan_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_loan_revision UNIQUE (revision)
);
INSERT INTO "loan" VALUES('lot-1','club-1','ben','loan-1',1,6);
CREATE TABLE log (
	original VARCHAR(64) NOT NULL, 
	channels VARCHAR(64) NOT NULL, 
	event VARCHAR(60), 
	person VARCHAR(60), 
	car VARCHAR(60), 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_log PRIMARY KEY (id), 
	CONSTRAINT fk_log_car FOREIGN KEY(car) REFERENCES car (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_log_channels FOREIGN KEY(channels) REFERENCES kept_file (address) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_log_event FOREIGN KEY(event) REFERENCES event (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_log_original FOREIGN KEY(original) REFERENCES kept_file (address) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_log_person FOREIGN KEY(person) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_log_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_log_revision UNIQUE (revision)
);
INSERT INTO "log" VALUES('bf891ea46ead4993e89aa7da02ab8c23dd50f29e9aae64607105363a5f070e03','bf891ea46ead4993e89aa7da02ab8c23dd50f29e9aae64607105363a5f070e03','lot-1','ben',NULL,'drive',1,19);
CREATE TABLE packed (
	event VARCHAR(60) NOT NULL, 
	person VARCHAR(60), 
	item TEXT NOT NULL, 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_packed PRIMARY KEY (id), 
	CONSTRAINT fk_packed_event FOREIGN KEY(event) REFERENCES event (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_packed_person FOREIGN KEY(person) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_packed_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_packed_revision UNIQUE (revision)
);
CREATE TABLE person (
	name TEXT NOT NULL, 
	mentor VARCHAR(60), 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_person PRIMARY KEY (id), 
	CONSTRAINT fk_person_mentor FOREIGN KEY(mentor) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_person_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_person_revision UNIQUE (revision)
);
INSERT INTO "person" VALUES('Ada Quill',NULL,'ada',1,1);
INSERT INTO "person" VALUES('Ben Tarn','ada','ben',1,2);
CREATE TABLE private_detail (
	kind VARCHAR(20) NOT NULL, 
	record VARCHAR(60) NOT NULL, 
	content TEXT NOT NULL, 
	digest VARCHAR(64) NOT NULL, 
	CONSTRAINT pk_private_detail PRIMARY KEY (kind, record)
);
INSERT INTO "private_detail" VALUES('person','ben','{"licence":{"number":"T-1"},"guardian":{"name":"Cy Tarn","phone":"555"},"emergency":{"name":"Cy Tarn","phone":"555","relation":"father"},"medical":"bee stings"}','a0114d94bd2b59d2d9378400603baa926162f542d83979da5841ff881bcbe5a0');
CREATE TABLE revision (
	number INTEGER NOT NULL, 
	kind VARCHAR(20) NOT NULL, 
	record VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	"by" TEXT NOT NULL, 
	reason TEXT NOT NULL, 
	content TEXT, 
	digest VARCHAR(64) NOT NULL, 
	CONSTRAINT pk_revision PRIMARY KEY (number), 
	CONSTRAINT uq_revision_kind UNIQUE (kind, record, version)
);
INSERT INTO "revision" VALUES(1,'person','ada',1,'2026-05-01 08:00:02.000000','Ada Quill','','{"id":"ada","name":"Ada Quill","born":null,"level":"expert","events_driven":0,"licence":null,"waiver_signed":null,"guardian":null,"mentor":"","can_mentor":true,"ride_alongs":null,"driver_file":""}','7b5d728fad7e546e79b50c2c12c6dd642cdcabfcae3ff78bbf44fd26d6b9a948');
INSERT INTO "revision" VALUES(2,'person','ben',1,'2026-05-01 08:00:03.000000','Ada Quill','','{"id":"ben","name":"Ben Tarn","born":"2010-02-28","level":"novice","events_driven":0,"licence":{"valid_until":null,"seen":"2026-04-01"},"waiver_signed":null,"guardian":{"waiver_signed":"2026-04-01"},"mentor":"ada","can_mentor":false,"ride_alongs":null,"driver_file":""}','9b8d6d58be3345b3df32cbc86c1f7f3bdb779f05ce2a6cb85fe3e73719a1a01c');
INSERT INTO "revision" VALUES(3,'car','pepper',1,'2026-05-01 08:00:04.000000','Ada Quill','','{"id":"pepper","name":"Pepper","owner":"ada","car_file":"","body":"closed","roll_protection":"unknown","energy":"fuel","wheel_torque":{"written":"98 N m","source":""},"tyres":[],"passenger_seat":true}','2541d1b46c4817b4d3db7afb7bf2695b0e23111bb45734e1339ba33ae51f0f5d');
INSERT INTO "revision" VALUES(4,'helmet','club-1',1,'2026-05-01 08:00:05.000000','Ada Quill','','{"id":"club-1","owner":"","size":"M","labels":["SA2020"],"made":null,"face":"full","face_shield":false,"goggles":false,"fit":{"result":"passed","looked_by":"Ada Quill","looked_at":null,"note":""},"strap":{"result":"not looked at","looked_by":"","looked_at":null,"note":""},"liner":{"result":"not looked at","looked_by":"","looked_at":null,"note":""},"impact":{"result":"not looked at","looked_by":"","looked_at":null,"note":""}}','df0b914b1b2b392021822ddf1f39d26ce280cdb6f9ed823fbe208142e818328e');
INSERT INTO "revision" VALUES(5,'event','lot-1',1,'2026-05-01 08:00:06.000000','Ada Quill','','{"id":"lot-1","name":"Back lot","day":"2026-05-01","place":"","surface":"","rules":"club","course_file":"","time_zone":"","weather":"","fee":{"amount":"35.00","currency":"EUR"},"registration":{"opens":null,"closes":null,"on_the_day":false},"classes":["novice"],"heats":["A","B"],"schedule":{"first_car":"10:00:00","gates_open":null,"registration_opens":null,"course_opens":null,"registration_time":900.0,"inspection_time":1800.0,"meeting_time":900.0,"unloading_time":1200.0,"walks":1,"course_length":800.0,"runs":4,"interval":45.0,"lunch_time":0.0},"entries":[{"person":"ben","car":"pepper","helmet":"club-1","number":"7","class_code":"","index":null,"heat":"","work_heat":"","work_station":""},{"person":"ada","car":"pepper","helmet":"","number":"","class_code":"","index":null,"heat":"","work_heat":"","work_station":""}]}','0ed73ff8081f8b1a4d3fa3079ef07fbaa2694c48e5355e289a1cdabf7a86fd95');
INSERT INTO "revision" VALUES(6,'loan','loan-1',1,'2026-05-01 08:00:07.000000','Ada Quill','','{"id":"loan-1","event":"lot-1","helmet":"club-1","person":"ben"}','1bb5a7770ffeb93fefb89091107b887f3aca17f20d273b6e7eb7f28c6455d56c');
INSERT INTO "revision" VALUES(7,'check','check-1',1,'2026-05-01 08:00:08.000000','Ada Quill','','{"id":"check-1","event":"lot-1","car":"pepper","item":"belts","result":"passed","looked_by":"Ada Quill","looked_at":"2026-05-01T08:30:00","value":"","note":"","photo":""}','2e319e58ee7a76e584e474a73b25f4d7fad6092fe76320d6499d41420cc436be');
INSERT INTO "revision" VALUES(8,'car-change','change-1',1,'2026-05-01 08:00:09.000000','Ada Quill','','{"id":"change-1","event":"","car":"pepper","kind":"brakes","happened_at":"2026-05-01T08:30:00","note":"new pads"}','6661a8c98d69f24edae1adf24693f8dc61ccc22b4f32bdd710711e7d01af183b');
INSERT INTO "revision" VALUES(9,'run','run-1',1,'2026-05-01 08:00:10.000000','Ada Quill','','{"id":"run-1","event":"lot-1","person":"ben","car":"pepper","order":1,"outcome":"timed","raw_time":62.345,"cones":1,"is_void":false,"written":"","driven_at":null,"passenger":"","set_up":"","tyres":"","cold_pressures":null,"hot_pressures":null,"surface":"","focus":"","losses":[],"log":"","notes":"","reason":""}','f63cba5d17b4cc641351cbe344fc363317d90c951f075abf134b98acf3da42f0');
INSERT INTO "revision" VALUES(10,'run','run-2',1,'2026-05-01 08:00:11.000000','Ada Quill','','{"id":"run-2","event":"lot-1","person":"ben","car":"pepper","order":2,"outcome":"dnf","raw_time":null,"cones":0,"is_void":false,"written":"","driven_at":null,"passenger":"ada","set_up":"","tyres":"","cold_pressures":null,"hot_pressures":null,"surface":"","focus":"","losses":[],"log":"","notes":"","reason":""}','f67d333a47f44d7f008822cccf72cbf590db8c685e21b8be1f0752a51532555f');
INSERT INTO "revision" VALUES(11,'ride-along','ride-1',1,'2026-05-01 08:00:12.000000','Ada Quill','','{"id":"ride-1","event":"lot-1","driver":"ben","passenger":"ada","run":"run-2","said":"Look"}','896b359a6a57f667fa4821aa1ad63ec1f13a831e74e9e43f5dacbd9a9700012e');
INSERT INTO "revision" VALUES(12,'expense','cost-1',1,'2026-05-01 08:00:13.000000','Ada Quill','','{"id":"cost-1","event":"lot-1","person":"","day":"2026-05-01","kind":"other","money":{"amount":"12.50","currency":"EUR"},"note":""}','a528db6bfc40a9a9d8c78f49d6c989527f359da5cd1d0de351a54d2b831efda2');
INSERT INTO "revision" VALUES(13,'packed','packed-1',1,'2026-05-01 08:00:14.000000','Ada Quill','','{"id":"packed-1","event":"lot-1","person":"ben","item":"water","is_packed":true}','d863ae90a44ba2f11d2285e50c4a8617c9ae0ee556a23b936f41f87325b6b6bb');
INSERT INTO "revision" VALUES(14,'car-file','pepper',1,'2026-05-01 08:00:15.000000','','','{"id":"pepper","text":"# Pepper: a small hatch with front drive, much as it left the showroom. Car and numbers are invented.\n# Little is known about it; what is missing is typical for a car of this kind.\n\nname = \"Pepper\"\nkind = \"small-hatch\"\ndrive = \"front\"\n\n[mass]\ntotal = \"1095 kg\"\nfront_share = \"62.5 %\"\ndriver = \"70 kg\"\n\n[body]\nwheelbase = \"2.51 m\"\nwidth = \"1.71 m\"\n\n[front]\ncamber = \"-0.9 deg\"\n\n[front.tyre]\nsize = \"195/50R16 84H\"\ntreadwear = 300\n\n[rear]\nbar_diameter = \"19 mm\"\n\n[engine]\npeak_power = \"92 kW\"\npeak_power_speed = \"6000 rpm\"\npeak_torque = \"160 N m\"\npeak_torque_speed = \"4200 rpm\"\nlimit = \"6600 rpm\"\n\n[transmission]\nkind = \"manual\"\ngears = [3.58, 2.04, 1.41, 1.11, 0.91]\nfinal_drive = 4.20\n\n[brakes]\nabs = true\n"}','a4118c8b3beee1f6c03738ed333e6d0ee52ca3b5cbdea55ae9f46f1b5de86ca8');
INSERT INTO "revision" VALUES(15,'course','harbour-yard',1,'2026-05-01 08:00:16.000000','','','{"id":"harbour-yard","text":"# An invented course on an invented site: tight, with slaloms and hairpins.\n# Course. Plan in metres east and north; a length may carry another unit: \"60 ft\".\n# Every field: docs/formats-course.md\nname = \"Harbour Yard, long slaloms\"\nrules = \"club\"\nstaging = 0.3\n\n[site]\nfriction = 0.97\nheading_to_north = \"0 deg\"\nanchor = { latitude = -23.4, longitude = 8.1 }\noutline = [[0.0, 0.0], [206.0, 0.0], [206.0, 118.0], [0.0, 118.0]]\n\n[[site.obstacle]]\nid = \"light pole 1\"\nkind = \"pole\"\ncentre = [118.0, 33.0]\nradius = 0.25\n\n[[site.obstacle]]\nid = \"light pole 2\"\nkind = \"pole\"\ncentre = [124.0, 79.0]\nradius = 0.25\n\n[[site.obstacle]]\nid = \"workers 1\"\nkind = \"workers\"\noutline = [[141.0, 54.5], [143.0, 54.5], [143.0, 56.5], [141.0, 56.5]]\n\n[[site.patch]]\nfriction = 0.85\noutline = [[82.0, 84.0], [96.0, 84.0], [96.0, 96.0], [82.0, 96.0]]\n\n[cones]  # [east, north]\nsl = [44.0, 24.6]\nsr = [44.0, 19.4]\na1 = [66.0, 22.0]\na2 = [82.0, 22.0]\na3 = [98.0, 22.0]\na4 = [114.0, 22.0]\na5 = [130.0, 22.0]\na6 = [146.0, 22.0]\nb1l = [164.81, 25.62]\nb1r = [167.02, 19.82]\nb2l = [169.9, 33.16]\nb2r = [176.1, 33.28]\nb3l = [164.51, 40.49]\nb3r = [166.48, 46.37]\ncl = [141.56, 38.8]\ncr = [141.56, 44.0]\ndl = [117.56, 44.0]\ndr = [117.56, 49.2]\nel = [93.56, 39.4]\ner = [93.56, 44.6]\nf = [59.0, 55.13]\nfp1 = { at = [59.55, 55.13], points_to = \"f\" }\nfp2 = { at = [60.05, 55.12], points_to = \"f\" }\nfp3 = { at = [60.55, 55.11], points_to = \"f\" }\ng1 = [77.88, 66.35]\ng2 = [94.87, 66.94]\ng3 = [111.86, 67.54]\ng4 = [128.85, 68.13]\ng5 = [145.84, 68.72]\ng6 = [162.83, 69.32]\nh1 = [179.89, 74.12]\nh2 = [184.11, 82.38]\nh3 = [178.78, 89.98]\ni1l = [161.14, 93.16]\ni1r = [161.14, 98.36]\ni2l = [150.14, 93.16]\ni2r = [150.14, 98.36]\nj = [130.14, 92.86]\njp1 = { at = [130.14, 93.41], points_to = \"j\" }\njp2 = { at = [130.14, 93.91], points_to = \"j\" }\nk1 = [111.14, 94.46]\nk2 = [107.14, 94.46]\nk3 = [103.14, 94.46]\nk4 = [99.14, 94.46]\nml = [79.14, 88.66]\nmr = [79.14, 93.66]\nzl = [60.14, 92.36]\nzr = [60.14, 97.56]\n\n[[feature]]\nkind = \"start\"\nid = \"start\"\nleft = \"sl\"\nright = \"sr\"\n\n[[feature]]\nkind = \"slalom\"\nid = \"slalom 1\"\ncones = [\"a1\", \"a2\", \"a3\", \"a4\", \"a5\", \"a6\"]\nfirst = \"right\"\n\n[[feature]]\nkind = \"hairpin\"\nid = \"hairpin 1\"\ngates = [[\"b1l\", \"b1r\"], [\"b2l\", \"b2r\"], [\"b3l\", \"b3r\"]]\n\n[[feature]]\nkind = \"offset-gate\"\nid = \"offset gate 1\"\nleft = \"cl\"\nright = \"cr\"\n\n[[feature]]\nkind = \"offset-gate\"\nid = \"offset gate 2\"\nleft = \"dl\"\nright = \"dr\"\n\n[[feature]]\nkind = \"offset-gate\"\nid = \"offset gate 3\"\nleft = \"el\"\nright = \"er\"\n\n[[feature]]\nkind = \"hairpin\"\nid = \"hairpin 2\"\ncones = [\"f\"]\npass = \"left\"\n\n[[feature]]\nkind = \"slalom\"\nid = \"slalom 2\"\ncones = [\"g1\", \"g2\", \"g3\", \"g4\", \"g5\", \"g6\"]\nfirst = \"either\"\n\n[[feature]]\nkind = \"hairpin\"\nid = \"hairpin 3\"\ncones = [\"h1\", \"h2\", \"h3\"]\npass = \"right\"\n\n[[feature]]\nkind = \"box\"\nid = \"box\"\ngates = [[\"i1l\", \"i1r\"], [\"i2l\", \"i2r\"]]\n\n[[feature]]\nkind = \"cone\"\nid = \"kink\"\ncone = \"j\"\npass = \"left\"\n\n[[feature]]\nkind = \"wall\"\nid = \"wall\"\ncones = [\"k1\", \"k2\", \"k3\", \"k4\"]\npass = \"right\"\n\n[[feature]]\nkind = \"offset-gate\"\nid = \"offset gate 4\"\nleft = \"ml\"\nright = \"mr\"\n\n[[feature]]\nkind = \"finish\"\nid = \"finish\"\nleft = \"zl\"\nright = \"zr\"\n\n[stop]\nkind = \"box\"\nlength = 72.0\n"}','bb45e05c48500d75369592ed69f259748be9eaef341d60cf08c5de8904863bf4');
INSERT INTO "revision" VALUES(16,'driver-file','somebody',1,'2026-05-01 08:00:17.000000','','','{"id":"somebody","text":"name = \"Somebody\"  # a comment that must stay\nlevel = \"novice\"\n"}','49c43769dda66db7701fd235b0b1e803ae2f374a66c45f79a49db6c3f9ac27cc');
INSERT INTO "revision" VALUES(17,'run','run-1',2,'2026-05-01 08:00:18.000000','Ben Tarn','a cone more at gate 7','{"id":"run-1","event":"lot-1","person":"ben","car":"pepper","order":1,"outcome":"timed","raw_time":62.345,"cones":2,"is_void":false,"written":"","driven_at":null,"passenger":"","set_up":"","tyres":"","cold_pressures":null,"hot_pressures":null,"surface":"","focus":"","losses":[],"log":"","notes":"","reason":""}','de437c707f6d033ed4b78662dd804c2a75b0b393eff206bb0fd35eae09d58de1');
INSERT INTO "revision" VALUES(18,'packed','packed-1',2,'2026-05-01 08:00:19.000000','','left at home',NULL,'3dcbfee857edf4be8d4b65d2856258c8d2f8756fe5f3d024906d71db3513129c');
INSERT INTO "revision" VALUES(19,'log','drive',1,'2026-05-01 08:00:21.000000','','','{"id":"drive","name":"d.csv","original":"bf891ea46ead4993e89aa7da02ab8c23dd50f29e9aae64607105363a5f070e03","channels":"bf891ea46ead4993e89aa7da02ab8c23dd50f29e9aae64607105363a5f070e03","start":null,"duration":0.0,"event":"lot-1","person":"ben","car":"","note":""}','0319e36c0fb35d703aa25bed78d498bd68b05ed035dd7f84fb7746b091b8dc05');
CREATE TABLE ride_along (
	event VARCHAR(60) NOT NULL, 
	run VARCHAR(60), 
	driver VARCHAR(60) NOT NULL, 
	passenger VARCHAR(60) NOT NULL, 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_ride_along PRIMARY KEY (id), 
	CONSTRAINT fk_ride_along_driver FOREIGN KEY(driver) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_ride_along_event FOREIGN KEY(event) REFERENCES event (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_ride_along_passenger FOREIGN KEY(passenger) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_ride_along_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT fk_ride_along_run FOREIGN KEY(run) REFERENCES run (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT uq_ride_along_revision UNIQUE (revision)
);
INSERT INTO "ride_along" VALUES('lot-1','run-2','ben','ada','ride-1',1,11);
CREATE TABLE rules_text (
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_rules_text PRIMARY KEY (id), 
	CONSTRAINT fk_rules_text_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_rules_text_revision UNIQUE (revision)
);
CREATE TABLE run (
	event VARCHAR(60) NOT NULL, 
	person VARCHAR(60) NOT NULL, 
	car VARCHAR(60), 
	passenger VARCHAR(60), 
	"order" INTEGER NOT NULL, 
	id VARCHAR(60) NOT NULL, 
	version INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	CONSTRAINT pk_run PRIMARY KEY (id), 
	CONSTRAINT fk_run_car FOREIGN KEY(car) REFERENCES car (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_run_event FOREIGN KEY(event) REFERENCES event (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_run_passenger FOREIGN KEY(passenger) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_run_person FOREIGN KEY(person) REFERENCES person (id) DEFERRABLE INITIALLY DEFERRED, 
	CONSTRAINT fk_run_revision FOREIGN KEY(revision) REFERENCES revision (number), 
	CONSTRAINT uq_run_revision UNIQUE (revision)
);
INSERT INTO "run" VALUES('lot-1','ben','pepper',NULL,1,'run-1',2,17);
INSERT INTO "run" VALUES('lot-1','ben','pepper','ada',2,'run-2',1,10);
CREATE TABLE web_session (
	id VARCHAR(64) NOT NULL, 
	device TEXT NOT NULL, 
	role VARCHAR(10) NOT NULL, 
	person VARCHAR(60) NOT NULL, 
	made_at DATETIME NOT NULL, 
	used_at DATETIME NOT NULL, 
	ends_at DATETIME NOT NULL, 
	CONSTRAINT pk_web_session PRIMARY KEY (id)
);
INSERT INTO "web_session" VALUES('984ca5162200734c592148f1820b71057f098573d138666b48663e4e30cd8d3a','phone','driver','ben','2026-05-01 08:00:23.000000','2026-05-01 08:00:23.000000','2026-05-04 08:00:23.000000');
CREATE INDEX ix_event_day ON event (day);
CREATE INDEX ix_person_mentor ON person (mentor);
CREATE INDEX ix_car_owner ON car (owner);
CREATE INDEX ix_expense_event ON expense (event);
CREATE INDEX ix_expense_person ON expense (person);
CREATE INDEX ix_helmet_owner ON helmet (owner);
CREATE INDEX ix_packed_event ON packed (event);
CREATE INDEX ix_packed_person ON packed (person);
CREATE INDEX ix_car_change_car ON car_change (car);
CREATE INDEX ix_car_change_event ON car_change (event);
CREATE INDEX ix_entry_car ON entry (car);
CREATE INDEX ix_entry_helmet ON entry (helmet);
CREATE INDEX ix_entry_person ON entry (person);
CREATE INDEX ix_loan_event ON loan (event);
CREATE INDEX ix_loan_helmet ON loan (helmet);
CREATE INDEX ix_loan_person ON loan (person);
CREATE INDEX ix_log_car ON log (car);
CREATE INDEX ix_log_channels ON log (channels);
CREATE INDEX ix_log_event ON log (event);
CREATE INDEX ix_log_original ON log (original);
CREATE INDEX ix_log_person ON log (person);
CREATE INDEX ix_run_car ON run (car);
CREATE INDEX ix_run_event ON run (event);
CREATE INDEX ix_run_passenger ON run (passenger);
CREATE INDEX ix_run_person ON run (person);
CREATE INDEX ix_run_sorted ON run (event, person, "order");
CREATE INDEX ix_ride_along_driver ON ride_along (driver);
CREATE INDEX ix_ride_along_event ON ride_along (event);
CREATE INDEX ix_ride_along_passenger ON ride_along (passenger);
CREATE INDEX ix_ride_along_run ON ride_along (run);
CREATE INDEX ix_inspection_check_car ON inspection_check (car);
CREATE INDEX ix_inspection_check_event ON inspection_check (event);
CREATE INDEX ix_inspection_check_photo ON inspection_check (photo);
CREATE INDEX ix_job_state ON job (state);
CREATE INDEX ix_job_kind ON job (kind);
COMMIT;
