// R8 merges a class into another and leaves the merged one's name in the descriptor of a string concatenation (invokedynamic),
// where it writes class files: Compose then asks for a class that is gone. Dex has no such instruction. What is concatenated is
// turned into words whatever its type is called, so here every such type becomes Object, and nothing else is changed.
//   Concat IN.jar OUT.jar
import java.io.FileInputStream;
import java.io.FileOutputStream;
import java.util.zip.ZipEntry;
import java.util.zip.ZipInputStream;
import java.util.zip.ZipOutputStream;
import org.objectweb.asm.ClassReader;
import org.objectweb.asm.ClassVisitor;
import org.objectweb.asm.ClassWriter;
import org.objectweb.asm.Handle;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;
import org.objectweb.asm.Type;

class Concat {
    public static void main(String[] said) throws Exception {
        int changed = 0;
        try (ZipInputStream in = new ZipInputStream(new FileInputStream(said[0])); ZipOutputStream out = new ZipOutputStream(new FileOutputStream(said[1]))) {
            for (ZipEntry entry = in.getNextEntry(); entry != null; entry = in.getNextEntry()) {
                byte[] bytes = in.readAllBytes();
                if (entry.getName().endsWith(".class")) {
                    byte[] now = plain(bytes);
                    if (now != null) { bytes = now; changed++; }
                }
                out.putNextEntry(new ZipEntry(entry.getName()));
                out.write(bytes);
                out.closeEntry();
            }
        }
        System.out.println("Concat: " + changed + " classes joined words of a type that they named");
    }

    private static byte[] plain(byte[] bytes) {
        ClassReader reader = new ClassReader(bytes);
        ClassWriter writer = new ClassWriter(reader, 0);
        boolean[] found = {false};
        reader.accept(new ClassVisitor(Opcodes.ASM9, writer) {
            @Override
            public MethodVisitor visitMethod(int access, String name, String descriptor, String signature, String[] exceptions) {
                return new MethodVisitor(Opcodes.ASM9, super.visitMethod(access, name, descriptor, signature, exceptions)) {
                    @Override
                    public void visitInvokeDynamicInsn(String name, String descriptor, Handle by, Object... with) {
                        String now = by.getOwner().equals("java/lang/invoke/StringConcatFactory") ? plain(descriptor) : descriptor;
                        found[0] |= !now.equals(descriptor);
                        super.visitInvokeDynamicInsn(name, now, by, with);
                    }
                };
            }
        }, 0);
        return found[0] ? writer.toByteArray() : null;
    }

    private static String plain(String descriptor) {
        Type[] types = Type.getArgumentTypes(descriptor);
        for (int n = 0; n < types.length; n++) {
            if (types[n].getSort() == Type.OBJECT && !types[n].getClassName().startsWith("java.lang.")) types[n] = Type.getObjectType("java/lang/Object");
        }
        return Type.getMethodDescriptor(Type.getReturnType(descriptor), types);
    }
}
