use super::*;

fn values(rows: &Rows) -> Vec<f64> {
    rows.rows.iter().flat_map(|r| [r.x, r.y, r.value]).collect()
}

fn said(rows: &Rows) -> String {
    let faults = rows.refused.iter().chain(&rows.faults);
    faults.map(|f| format!("{}: {}; {}", f.line, f.what, f.remedy)).collect::<Vec<_>>().join("\n")
}

#[test]
fn tables_are_read_by_header_whatever_parts_them() {
    for (name, text) in [
        ("comma", "lon,lat,depth_m\n1,2,3\n4,5,6\n"),
        ("crlf and no last line end", "lon,lat,depth_m\r\n1,2,3\r\n4,5,6"),
        ("semicolon, order, case", "Depth_M;LAT;Lon\n3;2;1\n6;5;4\n"),
        ("tab and blanks", "x\ty\tz\n 1\t2 \t3\n\n4\t5\t6\n"),
        ("comment and more columns", "# sonar\nid,lon,lat,depth\na,1,2,3\nb,4,5,6\n"),
        ("quotes", "\"lon\",\"lat\",\"depth_m\"\n\"1\",2,3\n4,5,\"6\"\n"),
    ] {
        let rows = csv(text, &Columns::default());
        assert_eq!(said(&rows), "", "{name}");
        assert_eq!(values(&rows), [1.0, 2.0, 3.0, 4.0, 5.0, 6.0], "{name}");
    }
}

#[test]
fn bad_rows_are_named_by_line_and_the_rest_is_kept() {
    for (name, row, expect) in [
        ("text", "1,2,deep", "3: \"deep\" is not a number"),
        ("nan", "1,NaN,3", "3: \"NaN\" is not a number"),
        ("infinite", "1,2,1e999", "3: \"1e999\" is not a number"),
        ("empty", "1,,3", "3: an empty field"),
        ("short", "1,2", "3: has 2 fields, the header has 3"),
    ] {
        let rows = csv(&format!("lon,lat,depth_m\n9,9,9\n{row}\n8,8,8\n"), &Columns::default());
        assert!(said(&rows).starts_with(expect), "{name}: {}", said(&rows));
        assert_eq!((rows.rows.len(), rows.rows[1].line), (2, 4), "{name}");
    }
}

#[test]
fn decimal_commas_are_refused_with_the_remedy() {
    let rows = csv("lon;lat;depth_m\n1,5;2,5;3,5\n", &Columns::default());
    assert!(said(&rows).contains("decimal comma") && said(&rows).contains("points"), "{}", said(&rows));
    let rows = xyz("1,5 2,5 3,5\n");
    assert!(said(&rows).contains("decimal comma"), "{}", said(&rows));
}

#[test]
fn headers_that_do_not_fit_are_refused() {
    for (name, text, expect) in [
        ("nothing", "", "no header line"),
        ("numbers on top", "1,2,3\n4,5,6\n", "put lon,lat,depth_m on top"),
        ("no depth", "lon,lat,dpth_m\n1,2,3\n", "no column \"depth_m\""),
        ("two depths", "lon,lat,depth_m,z\n1,2,3,4\n", "could all be the value"),
    ] {
        let rows = csv(text, &Columns::default());
        assert!(rows.refused.is_some() && said(&rows).contains(expect), "{name}: {}", said(&rows));
    }
    let columns = Columns { value: "z".into(), ..Columns::default() };
    assert_eq!(values(&csv("lon,lat,depth_m,z\n1,2,3,4\n", &columns)), [1.0, 2.0, 4.0]);
}

#[test]
fn the_newest_date_is_kept_and_bad_ones_are_named() {
    let rows = csv(
        "lon,lat,depth_m,date\n1,2,3,2024-05-01\n1,2,3,2025-02-30\n1,2,3,2023-01-01\n1,2,3,\n",
        &Columns::default(),
    );
    assert_eq!(rows.newest, "2024-05-01");
    assert_eq!(rows.rows.len(), 3);
    assert!(said(&rows).contains("3: \"2025-02-30\" is not a date"), "{}", said(&rows));
}

#[test]
fn blanks_part_the_numbers_of_xyz() {
    let rows = xyz("easting northing depth\r\n1 2\t3\r\n\n# c\n4 5 6 # end\n7 8\n1 2 3 4\n");
    assert_eq!(values(&rows), [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
    assert!(said(&rows).contains("6: \"7 8\" has fewer") && said(&rows).contains("7: \"1 2 3 4\" has more"));
}

#[test]
fn geojson_points_have_a_depth_or_a_height() {
    let text = r#"{"type":"FeatureCollection","features":[
      {"type":"Feature","properties":{"depth_m":2.5,"date":"2025-06-01"},"geometry":{"type":"Point","coordinates":[1,2,9]}},
      {"type":"Feature","properties":null,"geometry":{"type":"MultiPoint","coordinates":[[1,2,-3],[4,5,-6]]}},
      {"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[1,2]}},
      {"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[1,null]}},
      {"type":"Feature","properties":{},"geometry":null},
      7]}"#;
    let rows = geojson(text);
    assert_eq!(values(&rows), [1.0, 2.0, 2.5, 1.0, 2.0, -3.0, 4.0, 5.0, -6.0]);
    assert_eq!(rows.rows.iter().map(|r| r.is_depth).collect::<Vec<_>>(), [true, false, false]);
    assert_eq!((rows.fault_count, rows.newest.as_str()), (4, "2025-06-01"), "{}", said(&rows));
    for (text, expect) in [
        (r#"{"type":"FeatureCollection","features":[{"coordinates":[NaN,1]}]}"#, "no NaN"),
        (r#"{"type":"Point","coordinates":[1,2]}"#, "not a FeatureCollection"),
        ("[", "is not JSON"),
        (r#"{"type":"FeatureCollection"}"#, "has no list"),
    ] {
        assert!(said(&geojson(text)).contains(expect), "{text}: {}", said(&geojson(text)));
    }
}

#[test]
fn a_bad_row_is_named_by_its_own_line_however_lines_end() {
    let lines = ["# sonar", "lon,lat,depth_m", "1,2,3", "", "# second day", "4,5,deep", "7,8,deeper"];
    for (name, end) in [("unix", "\n"), ("windows", "\r\n"), ("old", "\r")] {
        let rows = csv(&lines.join(end), &Columns::default());
        let faults: Vec<usize> = rows.faults.iter().map(|fault| fault.line).collect();
        assert_eq!((faults, rows.rows.first().map(|row| row.line)), (vec![6, 7], Some(3)), "{name}");
    }
    assert_eq!(xyz("1 2 3\r4 5 6\r").rows.len(), 2);
    let rows = csv("lon,lat,depth_m\n\"1\",\"2\",\"3\n\"\n4,5,deep\n", &Columns::default());
    assert_eq!(rows.faults[0].line, 4, "a field of two lines counts as two");
}

#[test]
fn a_date_may_have_a_time_behind_it() {
    for date in ["2026-07-08", "2026-07-08T09:30:00Z", "2026-07-08 09:30"] {
        let rows = csv(&format!("lon,lat,depth_m,date\n1,2,3,{date}\n"), &Columns::default());
        assert_eq!((said(&rows).as_str(), rows.newest.as_str()), ("", "2026-07-08"), "{date}");
    }
    let rows = csv("lon,lat,depth_m,date\n1,2,3,08/07/2026\n", &Columns::default());
    assert!(said(&rows).contains("08/07/2026"), "{}", said(&rows));
}
