//! The files of readings that cases name.

macro_rules! files {
    ($($name:literal),* $(,)?) => {
        /// The text of a file, by the name that cases give it.
        fn text(name: &str) -> &'static str {
            match name {
                $(concat!("data/", $name) => include_str!(concat!("data/", $name)),)*
                other => panic!("no file `{other}`"),
            }
        }
    };
}

files!(
    "ad_randn.csv",
    "ad_randu.csv",
    "aiag_grr.csv",
    "montgomery_grr.csv",
    "nested.csv",
    "nist_GEAR.csv",
    "nist_JAHANMI2.csv",
    "nist_ZARR13.csv",
    "strd_Lew.csv",
    "strd_Michelso.csv",
    "strd_NumAcc1.csv",
    "strd_NumAcc2.csv",
    "strd_NumAcc4.csv",
    "strd_SiRstv.csv",
    "strd_SmLs01.csv",
    "strd_SmLs02.csv",
    "strd_SmLs04.csv",
    "strd_SmLs06.csv",
    "strd_SmLs07.csv",
    "strd_SmLs09.csv",
    "syn_grr.csv",
);

/// A column of a file, as texts.
pub fn column(file: &str, name: &str) -> Vec<String> {
    let mut reader = csv::Reader::from_reader(text(file).as_bytes());
    let headers = reader.headers().expect("a header");
    let at = headers.iter().position(|header| header == name);
    let at = at.unwrap_or_else(|| panic!("{file}: no column `{name}`"));
    let records = reader.records().map(|record| record.expect("a row"));
    records.map(|record| record[at].to_owned()).collect()
}
