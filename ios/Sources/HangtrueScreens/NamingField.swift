// Words that a person types: a name, a reason, a value of a setting. What is typed so far is kept by the core like digits are.
import HangtrueState
import SwiftUI

/// A line to write on, the touch that gives what is written, and names that one touch gives.
struct NamingField: View {
    @EnvironmentObject private var watched: Watched
    @Environment(\.look) private var look
    @State private var typed: NamingText
    private let naming: Naming
    private let keep: Bool
    private let onGiven: @MainActor () -> Void

    /// With `keep` the touch that gives the words is shown beside the offers.
    init(_ naming: Naming, keep: Bool = true, onGiven: @escaping @MainActor () -> Void = {}) {
        self.naming = naming
        self.keep = keep
        self.onGiven = onGiven
        _typed = State(initialValue: NamingText(naming))
    }

    var body: some View {
        let state = watched.state
        VStack(alignment: .leading, spacing: Reach.gap) {
            Words(naming.prompt, font: .subheadline, paint: \.quiet).accessibilityHidden(true)
            TextField(naming.prompt, text: $typed.text)
                .textFieldStyle(.plain)
                .foregroundStyle(look.ink.color)
                .submitLabel(.done)
                .onSubmit { give(typed.give(naming)) }
                .padding(12)
                .frame(minHeight: Reach.touch)
                .framed(look.card, look)
                .accessibilityLabel(Text(verbatim: naming.prompt))
                .accessibilityIdentifier("naming_\(naming.slot)")
            Presses {
                if keep {
                    Press(naming.give.label, spoken: naming.give.spoken, live: typed.canGive, main: true, id: naming.give.id) {
                        give(typed.give(naming))
                    }
                }
                ForEach(naming.offers, id: \.id) { offer in
                    Press(offer, main: !keep) { _ in give(typed.give(offer, naming)) }
                }
            }
        }
        .onChange(of: typed.text) { if let event = typed.tell(naming) { state.act(event) } }
        // the core's copy rules as soon as nothing is on its way to it
        .onChange(of: naming.typed) { typed.settle(naming, waiting: state.waiting) }
        .onChange(of: state.waiting) { typed.settle(naming, waiting: state.waiting) }
        .id(naming.slot)
    }

    private func give(_ event: Event) {
        watched.state.act(event)
        onGiven()
    }
}

/// A line to write on that the core does not keep: an address, a code, a key.
struct WriteLine: View {
    @Environment(\.look) private var look
    let name: String
    @Binding var text: String
    var secret = false

    var body: some View {
        VStack(alignment: .leading, spacing: 4) {
            Words(name, font: .subheadline, paint: \.quiet).accessibilityHidden(true)
            Group {
                if secret { SecureField(name, text: $text) } else { TextField(name, text: $text) }
            }
            .textFieldStyle(.plain)
            .autocorrectionDisabled()
            .foregroundStyle(look.ink.color)
            .padding(12)
            .frame(minHeight: Reach.touch)
            .framed(look.card, look)
            .accessibilityLabel(Text(verbatim: name))
        }
    }
}

/// A naming that is folded away behind its name until it is wanted.
struct Foldaway: View {
    @State private var wanted = false
    private let name: String
    private let naming: Naming
    private let open: Bool
    private let keep: Bool
    private let keys: KeyboardShortcut?

    init(_ name: String, _ naming: Naming, open: Bool = false, keep: Bool = true, keys: KeyboardShortcut? = nil) {
        self.keys = keys
        self.name = name
        self.naming = naming
        self.open = open
        self.keep = keep
    }

    var body: some View {
        if open || wanted || !naming.typed.isEmpty {
            Card { NamingField(naming, keep: keep) { wanted = false } }
        } else {
            Press("+  \(name)", spoken: name, id: "unfold_\(naming.slot)", keys: keys) { wanted = true }
        }
    }
}
