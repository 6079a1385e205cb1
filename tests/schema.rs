//! The JSON Schemas are fresh; what the library reads and writes is valid against them, and what it refuses is not.
//! `UPDATE=1` writes them anew.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::{fs, path::PathBuf};

use fallwise::{adjust::Shared, compare};
use fallwise_files::{job, output};
use jsonschema::Validator;
use serde_json::{Value, json};

fn path(parts: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(parts)
}

fn committed(name: &str, made: &Value) -> Validator {
    let file = path("../crates/fallwise-files/schema").join(name);
    let mut text = serde_json::to_string_pretty(made).unwrap();
    text.push('\n');
    if std::env::var_os("UPDATE").is_some() {
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(&file, &text).unwrap();
    }
    let there = fs::read_to_string(&file).unwrap_or_default();
    assert!(there == text, "{name} is not fresh: UPDATE=1 cargo test -p fallwise-tests --test main schema");
    jsonschema::validator_for(made).unwrap()
}

fn job_validator() -> Validator {
    committed("job.schema.json", &serde_json::to_value(job::job_schema()).unwrap())
}

fn result_validator() -> Validator {
    committed("result.schema.json", &serde_json::to_value(job::result_schema()).unwrap())
}

fn comparison_validator() -> Validator {
    committed("comparison.schema.json", &serde_json::to_value(job::comparison_schema()).unwrap())
}

fn faults(validator: &Validator, value: &Value) -> Vec<String> {
    validator.iter_errors(value).map(|e| format!("{}: {e}", e.instance_path())).collect()
}

#[test]
fn every_demo_is_valid_as_a_job_and_as_a_result() {
    let (jobs, results) = (job_validator(), result_validator());
    for demo in fallwise_examples::demos::DEMOS {
        let loaded = job::read(&path("../examples/demos").join(demo.name).join("job.toml")).unwrap();
        let written: Value = serde_json::from_str(&job::to_json(&loaded.job).unwrap().text).unwrap();
        assert_eq!(faults(&jobs, &written), Vec::<String>::new(), "{}", demo.name);
        let answers = loaded.solve().unwrap().answers(loaded.rulebook.as_ref()).unwrap();
        let result: Value = serde_json::from_str(&output::result_json(&answers).unwrap()).unwrap();
        assert_eq!(faults(&results, &result), Vec::<String>::new(), "{}", demo.name);
    }
    let old = |name: &str| serde_json::from_slice(&fs::read(path("old_files").join(name)).unwrap()).unwrap();
    assert_eq!(faults(&jobs, &old("job-1.json")), Vec::<String>::new());
    assert_eq!(faults(&results, &old("result-1.json")), Vec::<String>::new());
}

#[test]
fn a_comparison_is_valid_and_reads_back() {
    let solved = |name: &str| {
        let loaded = job::read(&path("../examples/demos").join(name).join("job.toml")).unwrap();
        (loaded.solve().unwrap(), loaded.rulebook)
    };
    let ((before, _), (after, book)) = (solved("before-relay"), solved("after-relay"));
    let comparison = compare(&before, &after, Shared::Zero, book.as_ref()).unwrap();
    let text = output::comparison_json(&comparison).unwrap();
    let value: Value = serde_json::from_str(&text).unwrap();
    let validator = comparison_validator();
    assert_eq!(faults(&validator, &value), Vec::<String>::new());
    assert_eq!(output::read_comparison(text.as_bytes()).unwrap(), comparison);
    for (key, bad) in
        [("slopes", json!("none")), ("shared", json!("cable")), ("after", json!({})), ("cautions", json!(1))]
    {
        let mut value = value.clone();
        value[key] = bad;
        assert!(!validator.is_valid(&value), "{key}");
        assert!(output::read_comparison(value.to_string().as_bytes()).is_err(), "{key}");
    }
    let mut later = value;
    later["schema"] = json!("fallwise-comparison-2");
    let said = output::read_comparison(later.to_string().as_bytes()).unwrap_err().to_string();
    assert!(said.contains("comparison.json") && said.contains("version 2 of the form of comparisons"), "{said}");
}

#[test]
fn what_is_refused_is_not_valid() {
    let validator = job_validator();
    let readings = json!([{"station": "1 m", "tilt": "1 deg"}, {"station": "2 m", "slope": "2 %"}]);
    assert!(validator.is_valid(&json!({"reading": readings})));
    let tie = json!([{"kind": "invert", "station": "1 m", "elevation": "1 m", "sd": "0 m"}]);
    assert!(validator.is_valid(&json!({"reading": readings, "tie": tie})));
    let malformed = [
        json!([]),
        json!({"reading": readings, "colour": "blue"}),
        json!({"reading": [{"tilt": "1 deg"}]}),
        json!({"reading": [{"station": 1, "tilt": "1 deg"}]}),
        json!({"reading": readings, "flow": "uphill"}),
        json!({"reading": readings, "reach": [{"from": "0 m"}]}),
        json!({"reading": readings, "feature": [{"kind": "hydrant", "station": "1 m"}]}),
        json!({"reading": readings, "report": {"draws": -1}}),
        json!({"reading": readings, "segments": {"method": "guessed"}}),
        json!({"reading": readings, "version": "one"}),
        json!({"reading": readings, "as_built_use": "both"}),
        json!({"reading": readings, "tie": {}}),
        json!({"reading": readings, "tie": [{}]}),
        json!({"reading": readings, "tie": [{"kind": "star", "station": "1 m"}]}),
        json!({"reading": readings, "tie": [{"kind": "invert", "station": "1 m", "elevation": "1 m"}]}),
        json!({"reading": readings, "tie": [{"kind": "invert", "station": "1 m", "elevation": "1 m", "sd": "0 m", "rise": "1 m"}]}),
        json!({"reading": readings, "tie": [{"kind": "water_level", "from": "1 m", "to": "2 m", "seen": "both"}]}),
    ];
    for value in &malformed {
        assert!(!validator.is_valid(value), "{value}");
        assert!(
            job::read_json(&value.to_string(), "job.json", &fallwise_files::MemoryResolver::default()).is_err(),
            "{value}"
        );
    }
    let results = result_validator();
    let good: Value = serde_json::from_slice(&fs::read(path("old_files/result-1.json")).unwrap()).unwrap();
    for (key, value) in [
        ("segments", json!("none")),
        ("from_m", json!("0 m")),
        ("job", json!({"x": 1})),
        ("findings", json!([{}])),
        ("warnings", json!([1])),
    ] {
        let mut bad = good.clone();
        bad[key] = value;
        assert!(!results.is_valid(&bad), "{key}");
        assert!(output::read_answers(bad.to_string().as_bytes()).is_err(), "{key}");
    }
    let mut bad = good;
    bad.as_object_mut().unwrap().remove("cautions");
    assert!(!results.is_valid(&bad));
}
