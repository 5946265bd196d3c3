// A line of buttons that goes on below when it is too wide.
import Foundation

/// Where things of these sizes lie when they flow into lines of some width.
public struct Flow: Equatable, Sendable {
    /// A frame for each thing, from the top left.
    public let frames: [CGRect]
    /// The size of all of them together.
    public let size: CGSize

    /// Lays them out; `right` ends the lines at the right side. A thing that is wider than the line has it for itself.
    public init(_ sizes: [CGSize], width: Double, gap: Double, right: Bool) {
        var rows: [[Int]] = []
        var used = 0.0
        for (n, size) in sizes.enumerated() {
            if rows.isEmpty || used + gap + size.width > width {
                rows.append([n])
                used = size.width
            } else {
                rows[rows.count - 1].append(n)
                used += gap + size.width
            }
        }
        var frames = Array(repeating: CGRect.zero, count: sizes.count)
        var (y, widest) = (0.0, 0.0)
        for row in rows {
            let wide = min(width, row.map { sizes[$0].width }.reduce(-gap) { $0 + gap + $1 })
            let high = row.map { sizes[$0].height }.max() ?? 0
            var x = right ? width - wide : 0
            for n in row {
                let own = min(sizes[n].width, width)
                frames[n] = CGRect(x: x, y: y + (high - sizes[n].height) / 2, width: own, height: sizes[n].height)
                x += own + gap
            }
            widest = max(widest, wide)
            y += high + gap
        }
        self.frames = frames
        size = CGSize(width: right ? width : widest, height: max(0, y - gap))
    }
}
