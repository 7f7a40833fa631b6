//! CSV files with units in the column headers, and errors that name line and column.
//!
//! Lines before the header that start with `#` are comments. A byte-order mark, CRLF line endings and blank lines are
//! accepted.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use csv::{ReaderBuilder, StringRecord, Trim};

use crate::error::{Error, shown};

/// Size of the largest file that is read; a device may be endless.
const MOST_BYTES: u64 = 128 << 20;

/// The longest name that is treated as a column name (bytes).
const LONGEST_NAME: usize = 60;

/// A column that a file may have: its meaning and its conversion to SI, `si = scale x value + offset`.
pub struct KnownColumn<K> {
    /// Name in the header, ending in the unit.
    pub name: &'static str,
    /// Contents of the column, independent of its unit.
    pub meaning: K,
    /// SI value of one unit of the column.
    pub scale: f64,
    /// SI value at zero of the column's unit.
    pub offset: f64,
}

impl<K> KnownColumn<K> {
    /// A column whose unit has the same zero as SI.
    pub const fn new(name: &'static str, meaning: K, scale: f64) -> Self {
        Self { name, meaning, scale, offset: 0.0 }
    }
}

/// A known column and its position in the file.
pub struct FoundColumn<'k, K> {
    /// The column.
    pub known: &'k KnownColumn<K>,
    index: usize,
}

/// One line of data.
pub struct Row {
    /// Line number in the file, starting at 1.
    pub line: u64,
    cells: StringRecord,
}

/// The contents of a file.
pub struct CsvFile {
    path: PathBuf,
    header_line: u64,
    header: StringRecord,
    /// The lines of data, each with as many cells as the header.
    pub rows: Vec<Row>,
}

impl CsvFile {
    /// Reads a file.
    ///
    /// # Errors
    /// [`Error::Io`] if it can't be read, [`Error::InvalidFile`] if it isn't UTF-8 text, has no header, or a line has
    /// more or fewer cells than the header.
    pub fn read(path: &Path) -> Result<Self, Error> {
        let text = read_text(path)?;
        let comments: usize =
            text.split_inclusive('\n').take_while(|line| line.starts_with('#')).map(str::len).sum();
        let first_line = 1 + count_lines(&text[..comments]);
        let table = &text[comments..];
        let mut records = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(Trim::All)
            .from_reader(table.as_bytes())
            .into_records();
        let mut read_row = || {
            let record = records.next()?;
            Some(record.map_err(|error| unreadable(path, first_line, &error)).map(|cells| {
                let (line, byte) = cells.position().map_or((1, 0), |p| (p.line(), p.byte() as usize));
                // The reader places the start of a record at the end of the previous one, before blank lines.
                let after = &table[byte.min(table.len())..];
                let blank = after.len() - after.trim_start_matches(['\r', '\n']).len();
                Row { line: first_line + line - 1 + count_lines(&after[..blank]), cells }
            }))
        };
        let Some(header) = read_row() else {
            return Err(invalid(path, first_line, "", "end of file", "must have a header"));
        };
        let header = header?;
        let mut rows = Vec::new();
        while let Some(row) = read_row() {
            let row = row?;
            if row.cells.len() != header.cells.len() {
                let [found, expected] = [&row, &header].map(|row| match row.cells.len() {
                    1 => "1 cell".to_owned(),
                    count => format!("{count} cells"),
                });
                let allowed = format!("must have {expected}, as in the header");
                return Err(invalid(path, row.line, "", &found, &allowed));
            }
            rows.push(row);
        }
        Ok(Self { path: path.to_owned(), header_line: header.line, header: header.cells, rows })
    }

    /// Matches the file's columns with the known ones.
    ///
    /// # Errors
    /// [`Error::InvalidFile`] for an unknown column, with the nearest known name, or for two columns with the same
    /// meaning.
    pub fn columns<'k, K: PartialEq>(
        &self,
        known: &'k [KnownColumn<K>],
    ) -> Result<Vec<FoundColumn<'k, K>>, Error> {
        let mut found: Vec<FoundColumn<'k, K>> = Vec::new();
        for (index, name) in self.header.iter().enumerate() {
            let Some(column) = known.iter().find(|column| column.name == name) else {
                return Err(self.unknown_column(index, name, known));
            };
            if let Some(twin) = found.iter().find(|twin| twin.known.meaning == column.meaning) {
                return Err(
                    self.invalid_header(name, &format!("duplicates {}: must occur once", twin.known.name))
                );
            }
            found.push(FoundColumn { known: column, index });
        }
        Ok(found)
    }

    /// A cell as text.
    pub fn text<'r, K>(&self, row: &'r Row, column: &FoundColumn<'_, K>) -> &'r str {
        row.cells.get(column.index).unwrap_or_default()
    }

    /// A cell as a number in SI, from `least` to `most`.
    ///
    /// # Errors
    /// [`Error::InvalidFile`] if the cell is empty, not a finite number, or outside the range.
    pub fn number<K>(
        &self,
        row: &Row,
        column: &FoundColumn<'_, K>,
        least: f64,
        most: f64,
    ) -> Result<f64, Error> {
        let KnownColumn { scale, offset, .. } = *column.known;
        match self.text(row, column).parse::<f64>() {
            Ok(value) if (least..=most).contains(&(scale * value + offset)) => Ok(scale * value + offset),
            _ => {
                let (low, high) = ((least - offset) / scale, (most - offset) / scale);
                let allowed = format!("must be a number from {} to {}", shown(low), shown(high));
                Err(self.invalid_cell(row, column, &allowed))
            }
        }
    }

    /// The error for a cell.
    pub fn invalid_cell<K>(&self, row: &Row, column: &FoundColumn<'_, K>, allowed: &str) -> Error {
        invalid(&self.path, row.line, column.known.name, self.text(row, column), allowed)
    }

    /// The error for the header.
    pub fn invalid_header(&self, value: &str, allowed: &str) -> Error {
        invalid(&self.path, self.header_line, "", value, allowed)
    }

    /// The error for an unknown column. It shows the name only if it is close to a known one: a design may name any
    /// file, and its contents don't belong in a message.
    fn unknown_column<K>(&self, index: usize, name: &str, known: &[KnownColumn<K>]) -> Error {
        let distance = |column: &&KnownColumn<K>| {
            strsim::damerau_levenshtein(&name.to_lowercase(), &column.name.to_lowercase())
        };
        let is_near = |column: &&KnownColumn<K>| {
            distance(column) <= name.chars().count() / 2 && same_unit(name, column.name)
        };
        let is_short = name.len() <= LONGEST_NAME;
        match known.iter().filter(|column| is_short && is_near(column)).min_by_key(distance) {
            Some(nearest) => {
                self.invalid_header(name, &format!("unknown column; did you mean {}?", nearest.name))
            }
            None => {
                let names: Vec<&str> = known.iter().map(|column| column.name).collect();
                let allowed = format!("unknown column; known columns are {}", names.join(", "));
                self.invalid_header(&format!("column {}", index + 1), &allowed)
            }
        }
    }

    /// The error for a file that ends too early.
    pub fn invalid_end(&self, value: &str, allowed: &str) -> Error {
        let line = self.rows.last().map_or(self.header_line, |row| row.line);
        invalid(&self.path, line, "", value, allowed)
    }
}

fn read_text(path: &Path) -> Result<String, Error> {
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|source| Error::Io { path: path.to_owned(), source })?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(invalid(path, 1, "", "file", &format!("must be at most {} MiB long", MOST_BYTES >> 20)));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let good = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let line = 1 + good.iter().filter(|byte| **byte == b'\n').count() as u64;
        invalid(path, line, "", "bytes", "must be UTF-8 text")
    })?;
    Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
}

fn count_lines(text: &str) -> u64 {
    text.bytes().filter(|byte| *byte == b'\n').count() as u64
}

/// Whether a name carries the unit of a known column, or no unit.
fn same_unit(name: &str, known: &str) -> bool {
    let plain = |text: &str| text.to_lowercase().replace("_per_", "/");
    let unit = |text: &str| plain(text).rsplit_once('_').map(|(_, unit)| unit.to_owned());
    unit(name).is_none_or(|given| unit(known).is_none_or(|unit| given == unit))
}

fn unreadable(path: &Path, first_line: u64, error: &csv::Error) -> Error {
    let line = error.position().map_or(first_line, |position| first_line + position.line() - 1);
    invalid(path, line, "", "line", &error.to_string())
}

fn invalid(path: &Path, line: u64, column: &str, value: &str, allowed: &str) -> Error {
    Error::InvalidFile {
        path: path.to_owned(),
        line,
        column: column.to_owned(),
        value: value.to_owned(),
        allowed: allowed.to_owned(),
    }
}

/// Files for the tests of the readers.
#[cfg(test)]
pub mod testing {
    use std::path::PathBuf;
    use std::sync::atomic::{AtomicU32, Ordering};

    static COUNT: AtomicU32 = AtomicU32::new(0);

    /// A file that is deleted when it goes out of scope.
    pub struct TemporaryFile(pub PathBuf);

    impl TemporaryFile {
        /// A file with the given contents.
        pub fn with(content: impl AsRef<[u8]>) -> Self {
            let name =
                format!("loopdrift-{}-{}.csv", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed));
            let path = std::env::temp_dir().join(name);
            std::fs::write(&path, content).unwrap();
            Self(path)
        }
    }

    impl Drop for TemporaryFile {
        fn drop(&mut self) {
            let _ = std::fs::remove_file(&self.0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::testing::TemporaryFile;
    use super::*;

    const KNOWN: [KnownColumn<char>; 3] = [
        KnownColumn::new("power_W", 'p', 1.0),
        KnownColumn::new("power_kW", 'p', 1000.0),
        KnownColumn { name: "air_degF", meaning: 'a', scale: 5.0 / 9.0, offset: -160.0 / 9.0 },
    ];

    fn lines_and_values(content: &str) -> Result<Vec<(u64, f64)>, Error> {
        let file = TemporaryFile::with(content);
        let file = CsvFile::read(&file.0)?;
        let columns = file.columns(&KNOWN)?;
        file.rows.iter().map(|row| Ok((row.line, file.number(row, &columns[0], 0.0, 1e6)?))).collect()
    }

    fn refusal(content: &str) -> String {
        let message = lines_and_values(content).unwrap_err().to_string();
        message.split_once(".csv, ").unwrap().1.to_owned()
    }

    #[test]
    fn line_numbers_are_those_of_an_editor() {
        let expected = vec![(4, 1.5), (5, 2.0)];
        assert_eq!(lines_and_values("# one\n# two\npower_W\n1.5\n2\n").unwrap(), expected);
        assert_eq!(lines_and_values("\u{feff}# one\r\n# two\r\npower_W\r\n1.5\r\n2").unwrap(), expected);
        assert_eq!(lines_and_values("power_W\n\n\n1.5\n2\n\n").unwrap(), expected);
        assert_eq!(lines_and_values("\r\n\r\npower_W\r\n 1.5 \r\n2\r\n").unwrap(), expected);
    }

    #[test]
    fn units_become_si() {
        assert_eq!(lines_and_values("power_kW\n1.5\n").unwrap(), [(2, 1500.0)]);
        let (_, freezing) = lines_and_values("air_degF\n32\n").unwrap()[0];
        assert!(freezing.abs() < 1e-12);
    }

    #[test]
    fn bad_cells_are_named() {
        for cell in ["", "x", "-1", "nan", "inf", "1e7"] {
            let message = refusal(&format!("air_degF,power_W\n40,\n{cell:?},1\n"));
            let cell = format!("line 3, column \"air_degF\": {cell:?}: must be a number from 32 to ");
            assert!(message.starts_with(&cell), "{message}");
        }
        assert_eq!(
            refusal("power_W\n1\n2,3\n"),
            "line 3, column \"\": \"2 cells\": must have 1 cell, as in the header"
        );
    }

    #[test]
    fn bad_headers_are_named() {
        let message = refusal("# note\nPower_kw\n1\n");
        assert_eq!(message, "line 2, column \"\": \"Power_kw\": unknown column; did you mean power_kW?");
        assert!(refusal("colour\n1\n").contains("known columns are power_W, power_kW, air_degF"));
        assert!(refusal("power_W,power_kW\n1,1\n").contains("duplicates power_W"));
        assert!(refusal("").contains("must have a header"));
        assert!(refusal("# only a comment\n").contains("line 2"));
    }

    #[test]
    fn other_encodings_are_rejected_with_their_line() {
        let file = TemporaryFile::with(b"power_W\n1\n2\xb0\n");
        let message = CsvFile::read(&file.0).err().unwrap().to_string();
        assert!(message.contains("line 3") && message.contains("UTF-8"), "{message}");
        assert!(matches!(CsvFile::read(Path::new("/no/such/file")), Err(Error::Io { .. })));
    }
}
