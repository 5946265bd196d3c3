// The list of houses.
import HangtrueState
import SwiftUI

/// All houses, the latest first.
struct HousesPage: View {
    @EnvironmentObject private var watched: Watched
    let screen: Screen
    let houses: Houses
    let outside: any Outside

    var body: some View {
        let state = watched.state
        Page(screen) {
            Press(houses.sync) { state.act($0) }
            let looking = !houses.find.typed.isEmpty
            Foldaway("Begin a house", houses.begin, open: houses.count == 0 && !looking, keep: false, keys: .begin)
            if houses.count > 0 || looking { Foldaway("Find a house", houses.find, keep: false, keys: .find) }
            ForEach(houses.rows, id: \.id) { row in
                Leads(name: row.open.label, below: [row.says], spoken: joined([row.open.spoken, row.says]), id: row.open.id) {
                    state.act(row.open.event)
                }
            }
            if houses.rows.count < houses.count {
                Words("The latest \(houses.rows.count) of \(houses.count) are shown.", paint: \.quiet)
            }
            Press("Take in a house file", id: "pick_house") { outside.pickHouse() }
        }
    }
}
