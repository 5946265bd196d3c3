fn main() {
    let path = std::env::args().nth(1).unwrap();
    let job = hangtrue_core::house::file::read(&std::fs::read_to_string(path).unwrap()).unwrap();
    let heading = hangtrue_core::sheet::Heading { job: &job, day: "2026-05-04" };
    let catalogue = hangtrue_core::mount::Catalogue::standard(job.unit);
    let house = hangtrue_core::work::house(&job, catalogue).unwrap();
    let mut sheets = vec![hangtrue_core::sheet::summary(&heading, &house)];
    for worked in &house.openings {
        sheets.push(hangtrue_core::sheet::measuring(&heading, worked.room, worked.opening, &worked.truth));
        sheets.push(hangtrue_core::sheet::hanging(&heading, worked));
        if let Some(hangtrue_core::work::Shade { makeup: Ok(made), form, .. }) = &worked.shade {
            let cloth = worked.opening.choices.cloth.as_deref().and_then(|name| job.cloth(name));
            sheets.push(hangtrue_core::sheet::making(&heading, worked.room, worked.opening, made, cloth, form.words()));
        }
        sheets.extend(hangtrue_core::sheet::full_size(&heading, worked));
    }
    print!("{}", hangtrue_core::sheet::document("x", &sheets));
}
