fn main() {
    match groundrule::library::open(&groundrule::library::embedded()) {
        Ok(opened) => println!("ok {} rules {} tables", opened.library.rules.len(), opened.library.tables.len()),
        Err(p) => {
            for e in p.problems {
                let src = p.sources.get(e.source);
                let d: Box<dyn miette::Diagnostic + Send + Sync> = e.diagnostic;
                let r = miette::Report::from(d).with_source_code(miette::NamedSource::new(src.name.to_string(), src.text.to_string()));
                println!("{r:?}");
            }
        }
    }
}
