// The state as SwiftUI watches it, and the palette as the views find it.
import HangtrueState
import SwiftUI

/// Tells the views when the state changes.
@MainActor
public final class Watched: ObservableObject {
    /// The state behind the screens.
    public let state: WalkState
    /// The exchange, as the sync page shows it.
    public let exchange: ExchangeState

    /// Watches `state` and `exchange`.
    public init(_ state: WalkState, _ exchange: ExchangeState) {
        self.state = state
        self.exchange = exchange
        state.willChange = { [weak self] in self?.objectWillChange.send() }
        exchange.willChange = { [weak self] in self?.objectWillChange.send() }
    }
}

private struct LookKey: EnvironmentKey {
    static let defaultValue = Look.indoors
}

extension EnvironmentValues {
    /// The palette in force.
    var look: Look {
        get { self[LookKey.self] }
        set { self[LookKey.self] = newValue }
    }
}

extension Paint {
    /// As SwiftUI draws it.
    var color: Color {
        Color(.sRGB, red: Double(red) / 255, green: Double(green) / 255, blue: Double(blue) / 255)
    }
}
