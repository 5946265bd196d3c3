// Packs, signs and verifies the app with the plugin's own parts, as a release build would: zipflinger for the archive, apksig for
// the signature and for what an Android of each level would say of it.
//   pack RESOURCES DEX_FOLDER LIB_FOLDER OUT           libraries stored as they are, each at a page of 16 KB
//   sign APK KEYSTORE PASSWORD MIN_SDK OUT
//   verify APK MIN_SDK                                 what is wrong, a line for each; fails if anything is
import com.android.apksig.ApkSigner;
import com.android.apksig.ApkVerifier;
import com.android.zipflinger.Entry;
import com.android.zipflinger.Source;
import com.android.zipflinger.Sources;
import com.android.zipflinger.ZipArchive;
import com.android.zipflinger.ZipSource;
import java.io.FileInputStream;
import java.io.InputStream;
import java.nio.file.Files;
import java.nio.file.Path;
import java.security.KeyStore;
import java.security.PrivateKey;
import java.security.cert.X509Certificate;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Stream;

class Pack {
    private static final int PAGE = 16384;

    public static void main(String[] said) throws Exception {
        switch (said[0]) {
            case "pack" -> pack(Path.of(said[1]), Path.of(said[2]), Path.of(said[3]), Path.of(said[4]));
            case "sign" -> sign(Path.of(said[1]), Path.of(said[2]), said[3].toCharArray(), Integer.parseInt(said[4]), Path.of(said[5]));
            case "verify" -> verify(Path.of(said[1]), Integer.parseInt(said[2]));
            default -> throw new IllegalArgumentException("pack, sign or verify, not " + said[0]);
        }
    }

    private static void pack(Path resources, Path dex, Path libraries, Path out) throws Exception {
        Files.deleteIfExists(out);
        try (ZipArchive archive = new ZipArchive(out)) {
            ZipSource from = new ZipSource(resources);
            // the table is mapped by the system, and must lie at four bytes, not packed
            for (Entry entry : from.entries().values()) {
                boolean table = entry.getName().equals("resources.arsc");
                from.select(entry.getName(), entry.getName(), table ? 0 : ZipSource.COMPRESSION_NO_CHANGE, table ? 4 : Source.NO_ALIGNMENT);
            }
            archive.add(from);
            for (Path file : in(dex, ".dex")) archive.add(Sources.from(file, file.getFileName().toString(), 9));
            for (Path file : in(libraries, ".so")) {
                Source library = Sources.from(file, "lib/" + libraries.relativize(file), 0);
                library.align(PAGE);
                archive.add(library);
            }
        }
    }

    private static List<Path> in(Path folder, String end) throws Exception {
        try (Stream<Path> all = Files.walk(folder)) {
            return all.filter(file -> file.toString().endsWith(end)).sorted().toList();
        }
    }

    private static void sign(Path apk, Path keystore, char[] password, int least, Path out) throws Exception {
        KeyStore keys = KeyStore.getInstance("PKCS12");
        try (InputStream from = new FileInputStream(keystore.toFile())) { keys.load(from, password); }
        String name = keys.aliases().nextElement();
        ApkSigner.SignerConfig key = new ApkSigner.SignerConfig.Builder(name, (PrivateKey) keys.getKey(name, password), List.of((X509Certificate) keys.getCertificate(name))).build();
        // the first scheme is for Android older than 7
        new ApkSigner.Builder(List.of(key)).setInputApk(apk.toFile()).setOutputApk(out.toFile()).setMinSdkVersion(least).setV1SigningEnabled(false)
            .setV2SigningEnabled(true).setV3SigningEnabled(true).setAlignmentPreserved(true).setLibraryPageAlignmentBytes(PAGE).build().sign();
    }

    private static void verify(Path apk, int least) throws Exception {
        List<String> wrong = new ArrayList<>();
        ApkVerifier.Result result = new ApkVerifier.Builder(apk.toFile()).setMinCheckedPlatformVersion(least).build().verify();
        for (ApkVerifier.IssueWithParams issue : result.getAllErrors()) wrong.add(issue.toString());
        for (ApkVerifier.IssueWithParams issue : result.getWarnings()) wrong.add(issue.toString());
        if (!result.isVerified() || !result.isVerifiedUsingV2Scheme() || !result.isVerifiedUsingV3Scheme()) wrong.add("its signatures of schemes 2 and 3 do not hold");
        int libraries = 0;
        for (Entry entry : ZipArchive.listEntries(apk).values()) {
            long at = entry.getPayloadLocation().first;
            if (entry.getName().endsWith(".so")) {
                libraries++;
                if (entry.isCompressed()) wrong.add(entry.getName() + " is compressed: a phone could not map it from here");
                if (at % PAGE != 0) wrong.add(entry.getName() + " lies at " + at + ", no page of " + PAGE);
            }
            if (entry.getName().equals("resources.arsc") && (entry.isCompressed() || at % 4 != 0)) wrong.add("resources.arsc cannot be mapped");
        }
        if (libraries == 0) wrong.add("it has no library");
        wrong.forEach(System.out::println);
        if (!wrong.isEmpty()) System.exit(1);
        System.out.println(libraries + " libraries at pages of 16 KB, signatures of schemes 2 and 3 hold");
    }
}
