// Api SIGNATURES NEWER [--keep] JAR...: does anything in these jars call what the least Android of the app does not have?
// animal-sniffer compares each call in the bytecode with the signatures of that API level (what D8 itself brings to older
// Android counts as there). Three kinds of call may be newer: what is marked RequiresApi; what is named below with its reason;
// and what AndroidX does behind its own questions for the level (Build.VERSION, or a try), which its own lint holds. Those are
// listed in NEWER, class by class, so that a new version that brings another is seen; --keep writes that list anew.
import java.io.ByteArrayInputStream;
import java.io.FileInputStream;
import java.io.IOException;
import java.io.InputStream;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.jar.JarFile;
import org.codehaus.mojo.animal_sniffer.SignatureChecker;
import org.codehaus.mojo.animal_sniffer.logging.Logger;

class Api {
    /** The class where the call is, with the classes inside it; what is called begins so; and why that is no fault. */
    record Guarded(String in, String calls, String because) {}

    static final List<Guarded> GUARDED = List.of(
        new Guarded("hangtrue/core/JavaLangRefClean", "java.lang.ref.Cleaner",
            "made only after Class.forName found that class; without it JNA's own cleaner serves (create() in the generated Kotlin)"),
        new Guarded("com/sun/jna/Native", "java.awt.", "Native$AWT finds windows' handles, which nobody asks for here"),
        new Guarded("kotlinx/coroutines/debug/internal/AgentPremain", "java.lang.instrument.", "a debugger's agent, started by -javaagent alone"),
        new Guarded("kotlinx/coroutines/debug/internal/AgentPremain", "sun.misc.Signal", "the same agent"),
        new Guarded("kotlinx/coroutines/internal/ClassValueCtorCache", "ClassValue", "taken after a try; a WeakHashMap serves where it is not there"),
        new Guarded("kotlinx/serialization/internal/ClassValueReferences", "ClassValue", "taken after Class.forName found it")
    );

    /** A class with a call that is too new: the check looks for it in each run. */
    static class Planted {
        Object call() {
            return java.lang.ref.Cleaner.create();
        }
    }

    /** Takes down what the checker complains of. */
    static class Found implements Logger {
        final Set<String> calls = new TreeSet<>();

        public void error(String told) {
            calls.add(told);
        }

        public void error(String told, Throwable why) {
            throw new IllegalStateException(told, why);
        }

        public void info(String told) {}

        public void info(String told, Throwable why) {}

        public void debug(String told) {}

        public void debug(String told, Throwable why) {}

        public void warn(String told) {}

        public void warn(String told, Throwable why) {}
    }

    /** The checker, over classes in memory. */
    static class Check extends SignatureChecker {
        Check(InputStream signatures, Set<String> own, Logger log) throws IOException {
            super(signatures, own, log);
            setSourcePath(List.of());
            setAnnotationTypes(List.of("androidx.annotation.RequiresApi"));
        }

        void look(String name, byte[] bytes) throws IOException {
            process(name, new ByteArrayInputStream(bytes));
        }
    }

    /** Who calls what, without lines and members: "class type". */
    static Set<String> pairs(Set<String> told) {
        Set<String> pairs = new TreeSet<>();
        for (String one : told) {
            int at = one.indexOf("Undefined reference: ");
            if (at < 0) throw new IllegalStateException("animal-sniffer says: " + one);
            String in = one.substring(0, one.indexOf(".class")).replaceAll("[$].*", "");
            String called = one.substring(at + 21).replaceAll("[(].*", "").replaceAll(".* ", "");
            StringBuilder type = new StringBuilder();
            for (String part : called.split("[.]")) {
                type.append(type.isEmpty() ? "" : ".").append(part);
                if (Character.isUpperCase(part.charAt(0))) break;
            }
            pairs.add(in + " " + type);
        }
        return pairs;
    }

    static Set<String> calls(String signatures, Set<String> own, Map<String, byte[]> classes) throws IOException {
        Found found = new Found();
        Check check = new Check(new FileInputStream(signatures), own, found);
        for (var one : classes.entrySet()) check.look(one.getKey(), one.getValue());
        return pairs(found.calls);
    }

    public static void main(String[] told) throws IOException {
        Path newer = Path.of(told[1]);
        boolean keep = told[2].equals("--keep");
        Set<String> own = new HashSet<>();
        Map<String, byte[]> classes = new TreeMap<>();
        for (String jar : List.of(told).subList(keep ? 3 : 2, told.length)) {
            try (JarFile open = new JarFile(jar)) {
                for (var entry : open.stream().filter(e -> e.getName().endsWith(".class") && !e.getName().startsWith("META-INF/") && !e.getName().endsWith("module-info.class")).toList()) {
                    classes.put(entry.getName(), open.getInputStream(entry).readAllBytes());
                    own.add(entry.getName().replaceAll("[.]class$", "").replace('/', '.'));
                }
            }
        }
        if (!classes.containsKey("hangtrue/app/MainActivity.class")) throw new IllegalStateException("the app is not among these jars");

        byte[] planted = Api.class.getResourceAsStream("Api$Planted.class").readAllBytes();
        Set<String> found = calls(told[0], own, Map.of("Api$Planted.class", planted));
        if (!found.equals(Set.of("Api java.lang.ref.Cleaner"))) throw new IllegalStateException("a planted call was not found, but " + found);

        Set<String> calls = calls(told[0], own, classes);
        List<String> wrong = new ArrayList<>();
        for (Guarded guarded : GUARDED) {
            if (!calls.removeIf(one -> one.startsWith(guarded.in) && one.split(" ")[1].startsWith(guarded.calls))) wrong.add("nothing calls any more: " + guarded);
        }
        Set<String> listed = new TreeSet<>(calls);
        listed.removeIf(one -> !one.startsWith("androidx/"));
        for (String one : calls) if (!one.startsWith("androidx/")) wrong.add("too new for the least Android: " + one);
        if (keep) Files.write(newer, listed);
        Set<String> kept = new TreeSet<>(Files.readAllLines(newer));
        for (String one : listed) if (!kept.contains(one)) wrong.add("AndroidX calls what it did not: " + one);
        for (String one : kept) if (!listed.contains(one)) wrong.add("AndroidX calls no more: " + one);
        wrong.forEach(one -> System.out.println("Api.java: " + one));
        System.out.println("Api.java: " + classes.size() + " classes, " + GUARDED.size() + " guarded kinds of call, " + listed.size() + " of AndroidX, a planted call found");
        if (!wrong.isEmpty()) System.exit(1);
    }
}
