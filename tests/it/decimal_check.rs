//! Money and splitting against an independent decimal library: runs `tests/decimal_check.py` on 10,000 random cases of each.

use std::process::Command;

#[test]
fn gambrel_reckons_as_python_decimal_does() {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/decimal_check.py");
    let run = Command::new("python3").arg("-B").arg(script).arg(env!("CARGO_BIN_EXE_gambrel")).output();
    let output = match run {
        Ok(output) => output,
        Err(e) => {
            assert!(std::env::var_os("GAMBREL_FULL").is_none(), "GAMBREL_FULL asks for python3: {e}");
            eprintln!("NOT CHECKED against Python decimal, for there is no python3: {e}");
            return;
        }
    };
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{said}\n{}", String::from_utf8_lossy(&output.stderr));
    for what in ["weights: 10000 cases, 0 differences", "invoice: 10000 cases, 0 differences"] {
        assert!(said.contains(what), "{said}");
    }
    println!("{said}");
}
