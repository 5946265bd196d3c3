// A house: its rooms and openings, with what stands open.
import HangtrueState
import SwiftUI

/// One house.
struct HousePage: View {
    @EnvironmentObject private var watched: Watched
    @State private var names = false
    let screen: Screen
    let house: HouseScreen
    let outside: any Outside

    var body: some View {
        let state = watched.state
        Page(screen) {
            Press(house.walk, main: true, wide: true, keys: .onward) { state.act($0) }
            Press(house.leaving, wide: true) { state.act($0) }
        } content: {
            ProgressLine(progress: house.progress, what: "openings")
            Flags(flags: house.flags) { state.act($0) }
            ForEach(house.rooms, id: \.id) { room in
                Heading(room.name, font: .title3).padding(.top, 8)
                if names { Renaming(rename: room.rename, earlier: room.earlier, remove: room.remove) }
                ForEach(room.openings, id: \.id) { OpeningLine(opening: $0, names: names) }
                Foldaway("Add an opening: \(room.name)", room.addOpening, open: room.openings.isEmpty)
            }
            Foldaway("Add a room", house.addRoom, open: house.rooms.isEmpty)
        } beside: {
            Presses {
                Press(house.settings, keys: .settings) { state.act($0) }
                Press(house.sync) { state.act($0) }
                Press("Sheets", spoken: "sheets to share or print", id: "sheets", keys: .sheets) { state.showSheets() }
                Press("Add a photo", spoken: "add a photo of the house", id: "photo") {
                    outside.takePhoto(on: house.id, caption: screen.title)
                }
                Press("Save as a file", spoken: "save the house as a file", id: "save_house") {
                    state.houseFile(house.id) { outside.save(name: "\(screen.title).json", text: $0) }
                }
                Share(
                    item: HouseToHand(state: state, house: house.id, name: screen.title), name: screen.title,
                    spoken: "share the house file", id: "share_house"
                )
                Press(names ? "Done with these" : "Names, address, client", id: "change_names") { names.toggle() }
            }
            if names {
                Card { NamingField(house.rename) }
                ForEach(house.about, id: \.slot) { about in Card { NamingField(about) } }
                Press(house.away) { state.act($0) }
            }
        }
    }
}

private struct OpeningLine: View {
    @EnvironmentObject private var watched: Watched
    let opening: OpeningRow
    let names: Bool

    var body: some View {
        let state = watched.state
        VStack(alignment: .leading, spacing: Reach.gap) {
            Abreast {
                Leads(
                    name: opening.open.label, below: below(opening), spoken: spoken(opening), id: opening.open.id, shape: mark(opening)
                ) { state.act(opening.open.event) }
                Press(opening.measure) { state.act($0) }
            }
            if names { Renaming(rename: opening.rename, earlier: opening.earlier, remove: opening.remove) }
        }
    }
}

private struct Renaming: View {
    @EnvironmentObject private var watched: Watched
    let rename: Naming
    let earlier: Touch
    let remove: Touch

    var body: some View {
        Card {
            NamingField(rename)
            Press(earlier) { watched.state.act($0) }
            Press(remove) { watched.state.act($0) }
        }
    }
}
