-- A store as the first version of the schema wrote it. Never change this file: it stands for the
-- stores that people have.
PRAGMA application_id = 1734440038;
PRAGMA user_version = 1;
BEGIN TRANSACTION;
CREATE TABLE layouts (
        number INTEGER PRIMARY KEY REFERENCES results(number) ON DELETE CASCADE,
        layout TEXT NOT NULL
    );
INSERT INTO "layouts" VALUES(1,'{"format":"gatefit-layout","version":1,"size":[2,1,3],"parts":[{"at":[0,0,0],"part":"inverter","on":"+x"},{"at":[0,0,1],"part":"solid"},{"at":[0,0,2],"part":"inverter","on":"-z"},{"at":[1,0,0],"part":"solid"},{"at":[1,0,1],"part":"buffer","to":"-x","delay":1}],"pins":[{"name":"x1","role":"input","at":[1,0,0],"face":"+y","joint":"wire"},{"name":"x2","role":"input","at":[1,0,1],"face":"+x","joint":"wire"},{"name":"y1","role":"output","at":[0,0,2],"face":"+y","joint":"wire"}],"stack":null,"ground":false}');
CREATE TABLE results (
        number INTEGER PRIMARY KEY,
        key TEXT NOT NULL UNIQUE,
        asked TEXT NOT NULL,
        function_key TEXT NOT NULL,
        name TEXT NOT NULL DEFAULT '',
        inputs INTEGER NOT NULL,
        outputs INTEGER NOT NULL,
        function TEXT NOT NULL,
        "table" TEXT NOT NULL,
        stack TEXT NOT NULL,
        joints TEXT NOT NULL,
        minimize TEXT NOT NULL,
        delay_asked INTEGER,
        status TEXT NOT NULL CHECK (status IN ('found', 'impossible', 'undecided')),
        proven INTEGER NOT NULL,
        length INTEGER, width INTEGER, height INTEGER,
        volume INTEGER, floor INTEGER, parts INTEGER, delay INTEGER,
        bound INTEGER,
        claim TEXT NOT NULL,
        proof TEXT,
        solver TEXT NOT NULL,
        seed INTEGER NOT NULL,
        seconds REAL NOT NULL,
        version TEXT NOT NULL,
        made TEXT NOT NULL
    );
INSERT INTO "results" VALUES(1,'3f8debaa6bffeb205615c7b014d269a6ea41b6754918b5b14d451a9730bdbf77','{"spec":{"inputs":["x1","x2"],"outputs":["y1"],"table":["00 0","01 0","10 1","11 0"],"limits":{"length":3,"width":2,"height":3,"delay":2},"pins":{"x1":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"x2":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"y1":{"faces":["+x","+y","-x","-y"],"joint":"wire"}}},"minimize":["volume"],"rules":{"reach":15,"buffer_delays":[1,2,3,4]},"encoding":1}','5b78375c2c1b5d5547f9c41b0fd17bc1ae6445fc5f3c4480d6ac345ce78ce286','and with one not',2,1,'y1 = x1 & ~x2','0010','','wire','volume',2,'found',1,2,1,3,6,2,5,2,NULL,'smallest by volume 6, under length at most 3, width at most 2, height at most 3, delay at most 2: 7 questions answered "no layout" by cadical195 (no proof kept); among layouts of the medium with reach 15 and buffer delays 1, 2, 3, 4 in which no buffer holds another','answers of cadical195, no proof kept','cadical195',0,4.01918841998849529772e-01,'0.1.0','2026-11-25');
INSERT INTO "results" VALUES(2,'7280add27f18a877d8fe7c8a7bbdbe51dba6ac2d56fc8c42a52f532abf1bf692','{"spec":{"inputs":["x1","x2"],"outputs":["y1"],"table":["00 0","01 1","10 1","11 0"],"limits":{"length":6,"width":4,"height":5,"delay":2},"pins":{"x1":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"x2":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"y1":{"faces":["+x","+y","-x","-y"],"joint":"wire"}}},"minimize":["volume"],"rules":{"reach":15,"buffer_delays":[1,2,3,4]},"encoding":1}','ac6617f360982cb7a08928863f688bc0ebe2bd8553f05e342effc8fbc964e44e','',2,1,'y1 = x1 ^ x2','0110','','wire','volume',2,'impossible',1,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'made up: impossible','answers of cadical195, no proof kept','cadical195',0,1.0,'0.0.1','2026-01-01');
INSERT INTO "results" VALUES(3,'1c9d0b486219c2d2a4c8e53c1a5e382c695e6ee46b7d368c236b7098135876dc','{"spec":{"inputs":["x1","x2"],"outputs":["y1"],"table":["00 0","01 1","10 1","11 1"],"limits":{"length":6,"width":4,"height":5,"delay":2},"pins":{"x1":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"x2":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"y1":{"faces":["+x","+y","-x","-y"],"joint":"wire"}}},"minimize":["volume"],"rules":{"reach":15,"buffer_delays":[1,2,3,4]},"encoding":1}','c7dd292d3db16acc5ee962b71cc3537f7115032afa6d5addd7122b60702eb220','',2,1,'y1 = x1 | x2','0111','','wire','volume',2,'undecided',0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,3,'made up: undecided',NULL,'cadical195',0,1.0,'0.0.1','2026-01-01');
CREATE TABLE ruled_out (
        box_key TEXT NOT NULL,
        length INTEGER NOT NULL, width INTEGER NOT NULL, height INTEGER NOT NULL,
        delay INTEGER NOT NULL,
        parts INTEGER NOT NULL,
        PRIMARY KEY (box_key, length, width, height, delay, parts)
    ) WITHOUT ROWID
    ;
INSERT INTO "ruled_out" VALUES('8bed96fc86a1630d94b725fd546da59a7abd8e487a538e543a123de4c231d9ae',2,1,2,2,-1);
CREATE INDEX results_function ON results(function_key);
CREATE INDEX results_size ON results(inputs, volume);
COMMIT;
