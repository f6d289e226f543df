using System.ComponentModel;
using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using System.Text;
using Microsoft.Win32.SafeHandles;

namespace Supervisor.Simulation.Bench;

/// <summary>What a wait on a pseudo-terminal came to.</summary>
public enum TerminalEvent
{
    /// <summary>The time passed.</summary>
    Nothing = 0,

    /// <summary>Bytes are there.</summary>
    Readable = 1,

    /// <summary>Nobody has the device node open: no error, but nothing to wait for either.</summary>
    NobodyThere = 2,
}

/// <summary>
/// A pseudo-terminal: a device node that a program opens like a serial port, and this side of it. Disposing it hangs the device up, as pulling an adapter does.
/// One thread at a time.
/// </summary>
[SupportedOSPlatform("linux")]
public sealed partial class PseudoTerminal : IDisposable
{
    // The kernel's generic values, which x86 and ARM share.
    private const int ReadWrite = 0x2;
    private const int NoControllingTerminal = 0x100;
    private const int NonBlocking = 0x800;
    private const int CloseOnExec = 0x80000;
    private const int Interrupted = 4;
    private const int InputOutput = 5;
    private const int TryAgain = 11;
    private const short PollIn = 0x1;
    private const short PollHangUp = 0x10;
    private const short PollError = 0x8;

    // Larger than struct termios of any C library here (60 bytes).
    private const int TermiosRoom = 256;

    private readonly SafeFileHandle _master;

    private PseudoTerminal(SafeFileHandle master, string device)
    {
        _master = master;
        Device = device;
    }

    /// <summary>Path of the device node.</summary>
    public string Device { get; }

    /// <summary>Makes one in raw mode; every byte passes as it is.</summary>
    /// <exception cref="Win32Exception">The system gives none.</exception>
    public static PseudoTerminal Open()
    {
        int descriptor = OpenMaster(ReadWrite | NoControllingTerminal | NonBlocking | CloseOnExec);
        if (descriptor < 0)
        {
            throw new Win32Exception(Marshal.GetLastPInvokeError(), "no pseudo-terminal to be had: " + Marshal.GetLastPInvokeErrorMessage());
        }

        var master = new SafeFileHandle(descriptor, ownsHandle: true);
        try
        {
            byte[] name = new byte[128];
            Check(Grant(master), "grantpt");
            Check(Unlock(master), "unlockpt");
            Check(SlaveName(master, name, (nuint)name.Length) == 0 ? 0 : -1, "ptsname_r");
            MakeRaw(master);
            return new PseudoTerminal(master, Encoding.UTF8.GetString(name, 0, Array.IndexOf(name, (byte)0)));
        }
        catch
        {
            master.Dispose();
            throw;
        }
    }

    /// <summary>Waits for bytes.</summary>
    /// <param name="milliseconds">Longest wait; 0 looks only.</param>
    public unsafe TerminalEvent Wait(int milliseconds)
    {
        bool added = false;
        try
        {
            _master.DangerousAddRef(ref added);
            var poll = new PollDescriptor { Descriptor = (int)_master.DangerousGetHandle(), Events = PollIn };
            int count = Poll(&poll, 1, milliseconds);
            if (count <= 0)
            {
                return TerminalEvent.Nothing;
            }

            return (poll.Result & PollIn) != 0 ? TerminalEvent.Readable
                : (poll.Result & (PollHangUp | PollError)) != 0 ? TerminalEvent.NobodyThere : TerminalEvent.Nothing;
        }
        finally
        {
            if (added)
            {
                _master.DangerousRelease();
            }
        }
    }

    /// <summary>Takes what is there, without waiting.</summary>
    /// <returns>Bytes read; 0 when there are none, or nobody is there.</returns>
    /// <exception cref="Win32Exception">Any other trouble.</exception>
    public unsafe int Read(Span<byte> into)
    {
        fixed (byte* bytes = into)
        {
            nint count = Read(_master, bytes, (nuint)into.Length);
            return count >= 0 ? (int)count : Harmless("read");
        }
    }

    /// <summary>Hands over what fits; with nobody there it is lost, as on a wire without a listener.</summary>
    /// <exception cref="Win32Exception">Trouble other than that.</exception>
    public unsafe int Write(ReadOnlySpan<byte> from)
    {
        fixed (byte* bytes = from)
        {
            nint count = Write(_master, bytes, (nuint)from.Length);
            return count >= 0 ? (int)count : Harmless("write");
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _master.Dispose();

    private static int Harmless(string call)
    {
        int error = Marshal.GetLastPInvokeError();
        return error is Interrupted or InputOutput or TryAgain
            ? 0
            : throw new Win32Exception(error, $"{call} on a pseudo-terminal: {Marshal.GetPInvokeErrorMessage(error)}");
    }

    private static void Check(int result, string call)
    {
        if (result != 0)
        {
            throw new Win32Exception(Marshal.GetLastPInvokeError(), $"{call}: {Marshal.GetLastPInvokeErrorMessage()}");
        }
    }

    /// <summary>On this system the settings of the master are those of its device node.</summary>
    private static unsafe void MakeRaw(SafeFileHandle master)
    {
        byte* settings = stackalloc byte[TermiosRoom];
        Check(GetAttributes(master, settings), "tcgetattr");
        SetRaw(settings);
        Check(SetAttributes(master, 0, settings), "tcsetattr");
    }

    private struct PollDescriptor
    {
        public int Descriptor;
        public short Events;
        public short Result;
    }

    [LibraryImport("libc", EntryPoint = "posix_openpt", SetLastError = true)]
    private static partial int OpenMaster(int flags);

    [LibraryImport("libc", EntryPoint = "grantpt", SetLastError = true)]
    private static partial int Grant(SafeFileHandle master);

    [LibraryImport("libc", EntryPoint = "unlockpt", SetLastError = true)]
    private static partial int Unlock(SafeFileHandle master);

    [LibraryImport("libc", EntryPoint = "ptsname_r", SetLastError = true)]
    private static partial int SlaveName(SafeFileHandle master, byte[] name, nuint length);

    [LibraryImport("libc", EntryPoint = "tcgetattr", SetLastError = true)]
    private static unsafe partial int GetAttributes(SafeFileHandle terminal, byte* settings);

    [LibraryImport("libc", EntryPoint = "tcsetattr", SetLastError = true)]
    private static unsafe partial int SetAttributes(SafeFileHandle terminal, int when, byte* settings);

    [LibraryImport("libc", EntryPoint = "cfmakeraw")]
    private static unsafe partial void SetRaw(byte* settings);

    [LibraryImport("libc", EntryPoint = "poll", SetLastError = true)]
    private static unsafe partial int Poll(PollDescriptor* descriptors, nuint count, int milliseconds);

    [LibraryImport("libc", EntryPoint = "read", SetLastError = true)]
    private static unsafe partial nint Read(SafeFileHandle descriptor, byte* into, nuint count);

    [LibraryImport("libc", EntryPoint = "write", SetLastError = true)]
    private static unsafe partial nint Write(SafeFileHandle descriptor, byte* from, nuint count);
}
