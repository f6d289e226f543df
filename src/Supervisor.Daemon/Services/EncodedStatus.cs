using Google.Protobuf;

namespace Supervisor.Api.V1;

/// <content>Its bytes, where it is told to several streams and does not change any more.</content>
public sealed partial class WatchStatusResponse
{
    /// <summary>Its bytes; null: nobody has encoded it.</summary>
    internal byte[]? Encoded { get; private set; }

    /// <summary>Encodes it for all that are told it; it is not to be changed after that.</summary>
    internal void Encode() => Encoded = this.ToByteArray();
}
