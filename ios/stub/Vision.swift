public struct VNBarcodeSymbology: Hashable, Sendable {
    public static let qr = VNBarcodeSymbology()
}
