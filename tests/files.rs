//! Files: logs and jobs in, results out; every fault with its place and in exact words.

use std::{collections::BTreeMap, fs, path::PathBuf};

use fallwise_files::{
    FolderResolver, LogFormat, LogTable, MemoryResolver, Resolver, job,
    log::{self, DecimalMark, Delimiter},
};

fn print(text: &str) {
    match job::read_text(text, "job.toml", &MemoryResolver([("log.csv".to_owned(), b"cable (m),tilt (deg)\n0,-1.2\n0.5,-1.1\n".to_vec())].into())) {
        Ok(l) => println!("OK {text:?} {:?}", l.job.runs.len()),
        Err(e) => println!("{text:?}\n   => {e}\n  {e:?}"),
    }
}

#[test]
fn explore() {
    for t in [
        "[[reading]]\nstation = 5.0\ntilt = \"1 deg\"",
        "[[reading]]\nstation = \"5 fet\"\ntilt = \"1 deg\"",
        "[[reading]]\nstation = \"5 ft\"\ntlt = \"1 deg\"",
        "[[reading]]\nstation = \"5 ft\"\ntilt = \"1 deg\"\nslope = \"2 %\"",
        "[[reading]]\ntilt = \"1 deg\"",
        "[[raech]]\ntilt = \"1 deg\"",
        "[[reach]]\nfrom = \"0 m\"\nto = \"5 m\"\npipe = { standard = \"SDR 53\", size = \"4 in\" }",
        "[[reach]]\nfrom = \"0 m\"\nto = \"5 m\"\npipe = { bore = \"100 mm\", bore_width = \"4 in\" }",
        "[[reach]]\nfrom = \"0 m\"\nto = \"5 m\"\npipe = { bore = \"100 mm\", nominl = \"4 in\" }",
        "[[reach]]\nfrom = \"0 m\"\nto = \"5 m\"\n[reach.pipe]\nbore = \"100\"",
        "[[reach]]\nfrom = \"0 m\"\nto = \"5 m\"\nfacts = { a = 2, b = true, c = \"x\", d = [1] }",
        "[segments]\nmethod = \"given\"\nbreaks = [\"1 m\", \"x\"]",
        "[segments]\nmethod = \"raw\"\nbreaks = [\"1 m\"]",
        "[survey]\ndate_time = 2024-05-01T10:00:00Z",
        "[survey]\noprator = \"x\"",
        "flow = \"downhill\"",
        "flow = increasing",
        "[report]\nwords = \"usa\"",
        "[[bend]]\nstation = \"6 m\"\ndeflection = \"45 deg\"",
        "[[run]]\nlog = \"log.csv\"\nreading_unit = \"degs\"",
        "[[run]]\nlog = \"log.csv\"\ncounter = \"cabel\"",
        "[[run]]\nlog = \"lag.csv\"",
        "[[run]]\nlog = \"../log.csv\"",
        "[[run]]\nlog = \"log.csv\"\nlog = \"log.csv\"",
        "[[run]]\nlog = \"log.csv\"\n[instrument]\nreversal_check = { first = \"1 deg\", secnd = \"2 deg\" }",
        "",
        "x",
    ] { print(t); }
    for l in ["distance (m),tilt (deg)\n0,1\n1,x\n", "distance (m),tilt\n0,1\n1,x\n", "a,b\n1,2\n3,4\n", "1,2\n3,4\n", "distance,distance (ft),tilt (deg)\n1,2,3\n", "distance (m);tilt (deg)\n0,0;1,1\n0,5;1.1\n","distance (m),tilt (deg)\n0\n"] {
        println!("{:?}\n  => {}", l, match log::read(l.as_bytes(), &LogFormat::default()) { Ok(t) => format!("{t:?}"), Err(e) => e.to_string() });
    }
}
