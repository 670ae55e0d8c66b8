-- A store as the second version of the schema wrote it. Never change this file: it stands for the
-- stores that people have.
PRAGMA application_id = 1734440038;
PRAGMA user_version = 2;
BEGIN TRANSACTION;
CREATE TABLE held (
        box_key TEXT PRIMARY KEY,
        holder TEXT NOT NULL,
        host TEXT NOT NULL,
        boot TEXT NOT NULL,
        space TEXT NOT NULL,
        process INTEGER NOT NULL,
        started TEXT NOT NULL,
        until REAL NOT NULL
    ) WITHOUT ROWID
    ;
CREATE TABLE layouts (
        number INTEGER PRIMARY KEY REFERENCES results(number) ON DELETE CASCADE,
        layout TEXT NOT NULL
    );
INSERT INTO "layouts" VALUES(1,'{"format":"gatefit-layout","version":1,"size":[2,1,3],"parts":[{"at":[0,0,0],"part":"inverter","on":"+x"},{"at":[0,0,1],"part":"solid"},{"at":[0,0,2],"part":"inverter","on":"-z"},{"at":[1,0,0],"part":"solid"},{"at":[1,0,1],"part":"buffer","to":"-x","delay":1}],"pins":[{"name":"x1","role":"input","at":[1,0,0],"face":"-y","joint":"wire"},{"name":"x2","role":"input","at":[1,0,1],"face":"+x","joint":"wire"},{"name":"y1","role":"output","at":[0,0,2],"face":"+y","joint":"wire"}],"stack":null,"ground":false}');
CREATE TABLE notes (
        number INTEGER PRIMARY KEY REFERENCES results(number) ON DELETE CASCADE,
        note TEXT NOT NULL
    );
INSERT INTO "notes" VALUES(1,'seen on a bench');
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
INSERT INTO "results" VALUES(1,'3f8debaa6bffeb205615c7b014d269a6ea41b6754918b5b14d451a9730bdbf77','{"spec":{"inputs":["x1","x2"],"outputs":["y1"],"table":["00 0","01 0","10 1","11 0"],"pins":{"x1":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"x2":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"y1":{"faces":["+x","+y","-x","-y"],"joint":"wire"}},"limits":{"length":3,"width":2,"height":3,"delay":2}},"minimize":["volume"],"rules":{"reach":15,"buffer_delays":[1,2,3,4]},"encoding":1}','5b78375c2c1b5d5547f9c41b0fd17bc1ae6445fc5f3c4480d6ac345ce78ce286','and with one not',2,1,'y1 = x1 & ~x2','0010','','wire','volume',2,'found',1,2,1,3,6,2,5,2,NULL,'smallest by volume 6, under length at most 3, width at most 2, height at most 3, delay at most 2, wire joints, without ground: 7 questions ruled out by glucose42 (no proof kept); among layouts of the medium with reach 15 and buffer delays 1, 2, 3, 4 in which no buffer holds another','answers of glucose42, no proof kept','glucose42',0,1.37576681499967889976e+00,'0.1.0','2026-11-29');
INSERT INTO "results" VALUES(2,'5aca19b785281cab2a3cd1110f740aa9caf87b875c4245f51df574be133eb47c','{"spec":{"inputs":["x1","x2"],"outputs":["y1"],"table":["00 0","01 1","10 1","11 0"],"pins":{"x1":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"x2":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"y1":{"faces":["+x","+y","-x","-y"],"joint":"wire"}},"limits":{"length":1,"width":1,"height":2,"delay":2}},"minimize":["volume"],"rules":{"reach":15,"buffer_delays":[1,2,3,4]},"encoding":1}','ac6617f360982cb7a08928863f688bc0ebe2bd8553f05e342effc8fbc964e44e','exclusive-or',2,1,'y1 = x1 ^ x2','0110','','wire','volume',2,'impossible',1,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'no layout under length at most 1, width at most 1, height at most 2, delay at most 2, wire joints, without ground: 2 questions ruled out by glucose42 (no proof kept); among layouts of the medium with reach 15 and buffer delays 1, 2, 3, 4 in which no buffer holds another','answers of glucose42, no proof kept','glucose42',0,1.64295835999837436247e-01,'0.1.0','2026-11-29');
INSERT INTO "results" VALUES(3,'1c9d0b486219c2d2a4c8e53c1a5e382c695e6ee46b7d368c236b7098135876dc','{"spec":{"inputs":["x1","x2"],"outputs":["y1"],"table":["00 0","01 1","10 1","11 1"],"pins":{"x1":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"x2":{"faces":["+x","+y","-x","-y"],"joint":"wire"},"y1":{"faces":["+x","+y","-x","-y"],"joint":"wire"}},"limits":{"length":6,"width":4,"height":5,"delay":2}},"minimize":["volume"],"rules":{"reach":15,"buffer_delays":[1,2,3,4]},"encoding":1}','c7dd292d3db16acc5ee962b71cc3537f7115032afa6d5addd7122b60702eb220','or',2,1,'y1 = x1 | x2','0111','','wire','volume',2,'undecided',0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,3,'made up: undecided',NULL,'cadical195',0,1.0,'0.0.1','2026-01-01');
CREATE TABLE ruled_out (
        box_key TEXT NOT NULL,
        length INTEGER NOT NULL, width INTEGER NOT NULL, height INTEGER NOT NULL,
        delay INTEGER NOT NULL,
        parts INTEGER NOT NULL,
        PRIMARY KEY (box_key, length, width, height, delay, parts)
    ) WITHOUT ROWID
    ;
INSERT INTO "ruled_out" VALUES('0b6c651e779f159b73368dfcd3a68a1523685187475767dfa55a91955c9cadb7',1,1,2,2,-1);
INSERT INTO "ruled_out" VALUES('8bed96fc86a1630d94b725fd546da59a7abd8e487a538e543a123de4c231d9ae',1,1,3,2,-1);
INSERT INTO "ruled_out" VALUES('8bed96fc86a1630d94b725fd546da59a7abd8e487a538e543a123de4c231d9ae',2,1,2,2,-1);
INSERT INTO "ruled_out" VALUES('8bed96fc86a1630d94b725fd546da59a7abd8e487a538e543a123de4c231d9ae',2,2,1,2,-1);
INSERT INTO "ruled_out" VALUES('8bed96fc86a1630d94b725fd546da59a7abd8e487a538e543a123de4c231d9ae',3,1,1,2,-1);
CREATE TABLE tags (
        tag TEXT NOT NULL,
        number INTEGER NOT NULL REFERENCES results(number) ON DELETE CASCADE,
        PRIMARY KEY (tag, number)
    ) WITHOUT ROWID
    ;
INSERT INTO "tags" VALUES('mine',1);
INSERT INTO "tags" VALUES('small',1);
CREATE INDEX results_function ON results(function_key);
CREATE INDEX results_size ON results(inputs, volume);
CREATE INDEX tags_number ON tags(number);
COMMIT;
