namespace Supervisor.Bus.Rtu;

/// <summary>The answering side of a line: any number of addresses, each with its registers. A step machine: no I/O, no clock.</summary>
public sealed class RtuSlave
{
    /// <summary>Serves <paramref name="map"/> at an address from 1 to 247.</summary>
    public void Serve(byte address, IRegisterMap map) => throw new NotImplementedException();

    /// <summary>Answers one whole request frame.</summary>
    /// <param name="request">A frame with its CRC.</param>
    /// <param name="reply">Where the reply goes, at least 256 bytes.</param>
    /// <returns>Bytes of the reply; 0 for silence (bad CRC, foreign address, broadcast).</returns>
    public int Answer(ReadOnlySpan<byte> request, Span<byte> reply) => throw new NotImplementedException();
}
