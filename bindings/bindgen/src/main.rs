//! Writes the Kotlin, Swift and Python that call the bindings, out of the built library. See `bindings/generate.sh`.

fn main() {
    uniffi::uniffi_bindgen_main();
}
