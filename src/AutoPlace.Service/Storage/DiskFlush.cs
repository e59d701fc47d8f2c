using System.Runtime.InteropServices;

namespace AutoPlace.Service.Storage;

/// <summary>Flushes folders, so that a renamed file has its new name after a power failure too (fsync(2)); where folders can't be opened, the system does that itself.</summary>
internal static partial class DiskFlush
{
    private const int ReadOnly = 0;

    /// <summary>Flushes a folder's entries to the disk.</summary>
    public static void Folder(string path)
    {
        if (OperatingSystem.IsWindows())
        {
            return;
        }

        int handle = Open(path, ReadOnly);
        if (handle >= 0)
        {
            _ = Flush(handle);
            _ = Close(handle);
        }
    }

    [LibraryImport("libc", EntryPoint = "open", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int Open(string path, int flags);

    [LibraryImport("libc", EntryPoint = "fsync")]
    private static partial int Flush(int handle);

    [LibraryImport("libc", EntryPoint = "close")]
    private static partial int Close(int handle);
}
